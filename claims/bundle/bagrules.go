package bundle

import (
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"crypto/sha512"
	"fmt"
	"hash"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// algorithm makes the hash that a manifest's name asks for, or nil.
func algorithm(name string) func() hash.Hash {
	switch name {
	case "md5":
		return md5.New
	case "sha1":
		return sha1.New
	case "sha224":
		return sha256.New224
	case "sha256":
		return sha256.New
	case "sha384":
		return sha512.New384
	case "sha512":
		return sha512.New
	}
	return nil
}

func (c *bagCheck) manifests() {
	found := false
	for _, path := range c.order {
		name, ok := strings.CutSuffix(path, ".txt")
		if !ok || strings.Contains(path, "/") {
			continue
		}
		alg, tags := strings.CutPrefix(name, "tagmanifest-")
		if !tags {
			if alg, ok = strings.CutPrefix(name, "manifest-"); !ok {
				continue
			}
		}
		make := algorithm(strings.ToLower(alg))
		if make == nil {
			c.warn(path, "The checksum %q is not known here; this manifest was not checked.", short(alg))
			continue
		}
		if alg == "md5" || alg == "sha1" {
			c.warn(path, "%s finds accidents, but no longer stops somebody who wants to deceive.", strings.ToUpper(alg))
		}
		found = found || !tags
		if !tags {
			c.payload = append(c.payload, path)
		}
		c.manifest(path, strings.ToLower(alg), make().Size(), tags)
	}
	if !found {
		c.problem("manifest-sha256.txt", "There is no payload manifest that can be checked.")
	}
}

func (c *bagCheck) manifest(path, alg string, size int, tags bool) {
	c.listed[path] = map[string]bool{}
	text, ok := c.tagText(path)
	if !ok {
		return
	}
	lines, err := parseManifest(text, size)
	if err != nil {
		c.problem(path, "It can't be read: %v.", err)
		return
	}
	for _, l := range lines {
		if why := badPath(l.path); why != "" {
			c.problem(path, "It lists the path %q, which must not be followed: %s.", short(l.path), why)
			continue
		}
		if l.star {
			c.warn(path, "The path %q is written with an asterisk, as md5sum does.", short(l.path))
		}
		if l.dots {
			c.warn(path, "The path %q is written with a leading ./.", short(l.path))
		}
		switch inData := strings.HasPrefix(l.path, "data/"); {
		case tags && inData:
			c.problem(path, "A tag manifest lists the payload file %q.", short(l.path))
			continue
		case tags && strings.HasPrefix(l.path, "tagmanifest-"):
			c.problem(path, "A tag manifest lists a tag manifest, %q.", short(l.path))
			continue
		case !tags && !inData:
			c.problem(path, "It lists %q, which is not under data/.", short(l.path))
			continue
		}
		c.entry(path, alg, l)
	}
	if tags {
		for _, other := range c.order {
			if strings.HasPrefix(other, "manifest-") && !strings.Contains(other, "/") && !c.listed[path][other] {
				c.problem(path, "It does not list %s.", other)
			}
		}
	}
}

// entry takes one line of a manifest in.
func (c *bagCheck) entry(manifest, alg string, l manifestLine) {
	if named := manifest + "\x00" + l.path; c.named[named] {
		if c.want[l.path][alg] == l.sum {
			c.problem(manifest, "It lists %q twice.", short(l.path))
		} else {
			c.problem(manifest, "It lists %q twice, with two checksums.", short(l.path))
		}
		return
	} else {
		c.named[named] = true
	}
	c.listed[manifest][l.path] = true
	name := l.path
	if c.files[name] == nil {
		if other := c.alike(name); other != "" {
			c.warn(manifest, "It lists %q; the bag has %q, which differs only in case or in how its letters are composed.", short(name), short(other))
			c.listed[manifest][other] = true
			name = other
		}
	}
	if c.want[name] == nil {
		c.want[name] = map[string]string{}
	}
	if have := c.want[name][alg]; have != "" && have != l.sum {
		c.problem(manifest, "It lists %q with two checksums.", short(name))
	}
	c.want[name][alg] = l.sum
}

// alike finds a file whose name is the same but for case or composition (NFC, NFD).
func (c *bagCheck) alike(path string) string {
	fold := func(s string) string { return strings.ToLower(norm.NFC.String(s)) }
	want := fold(path)
	for _, have := range c.order {
		if fold(have) == want {
			return have
		}
	}
	return ""
}

func (c *bagCheck) fetch() {
	if c.files["fetch.txt"] == nil {
		return
	}
	text, ok := c.tagText("fetch.txt")
	if !ok {
		return
	}
	lines, err := parseFetch(text)
	if err != nil {
		c.problem("fetch.txt", "It can't be read: %v.", err)
		return
	}
	for _, l := range lines {
		switch {
		case badPath(l.path) != "":
			c.problem("fetch.txt", "It names the path %q, which must not be followed: %s.", short(l.path), badPath(l.path))
		case !strings.HasPrefix(l.path, "data/"):
			c.problem("fetch.txt", "It names %q, which is not under data/.", short(l.path))
		case c.want[l.path] == nil:
			c.problem("fetch.txt", "It names %q, which no manifest lists.", short(l.path))
		case c.files[l.path] == nil:
			c.problem(l.path, "It is not in the bag but to be fetched from %q; nothing is fetched here.", short(l.url))
		}
	}
}

// sizes adds up the payload.
func (c *bagCheck) sizes() {
	for _, path := range c.order {
		if strings.HasPrefix(path, "data/") {
			c.total += c.files[path].size
			c.count++
		}
	}
}

func (c *bagCheck) info() {
	if c.files["bag-info.txt"] == nil {
		return // it is optional; where a tag manifest lists it, compare finds it missing
	}
	text, ok := c.tagText("bag-info.txt")
	if !ok {
		return
	}
	tags, err := parseInfo(text, c.decl.old)
	if err != nil {
		c.problem("bag-info.txt", "It can't be read: %s.", err)
		return
	}
	seen := false
	for _, t := range tags {
		c.report.Info = append(c.report.Info, [2]string{t.label, t.value})
		if !strings.EqualFold(t.label, "Payload-Oxum") {
			continue
		}
		if seen {
			c.problem("bag-info.txt", "It has more than one Payload-Oxum.")
		}
		seen = true
		if have := fmt.Sprintf("%d.%d", c.total, c.count); t.value != have {
			c.problem("bag-info.txt", "Payload-Oxum says %s (bytes.files), the bag has %s.", short(t.value), have)
		}
	}
}
