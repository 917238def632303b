package packs

import "go.yaml.in/yaml/v3"

// size counts the values of a tree.
func size(n *yaml.Node) int {
	total := 1
	for _, child := range n.Content {
		total += size(child)
	}
	return total
}

// overlay lays one mapping over another: an empty value (~) takes a key out, mappings merge, everything else replaces.
func overlay(base, over *yaml.Node) *yaml.Node {
	out := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: over.Line}
	used := map[string]bool{}
	find := func(n *yaml.Node, key string) *yaml.Node {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				return n.Content[i+1]
			}
		}
		return nil
	}
	for i := 0; i+1 < len(base.Content); i += 2 {
		k, v := base.Content[i], base.Content[i+1]
		o := find(over, k.Value)
		used[k.Value] = true
		switch {
		case o == nil:
			out.Content = append(out.Content, k, v)
		case o.Kind == yaml.ScalarNode && o.ShortTag() == "!!null":
		case o.Kind == yaml.MappingNode && v.Kind == yaml.MappingNode:
			out.Content = append(out.Content, k, overlay(v, o))
		default:
			out.Content = append(out.Content, k, o)
		}
	}
	for i := 0; i+1 < len(over.Content); i += 2 {
		if k := over.Content[i]; !used[k.Value] {
			out.Content = append(out.Content, k, over.Content[i+1])
		}
	}
	return out
}
