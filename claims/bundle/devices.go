package bundle

import (
	"cmp"
	"fmt"
	"slices"

	"kickplate/claims"
)

// devices says how the entries of each device hang together, as far as this bundle can tell: one phone writes on many jobs, so
// what is missing between two entries may stand on another.
func (pl *plan) devices() []Block {
	links := map[string][]claims.Link{}
	var order []string
	for i := range pl.lines {
		l := &pl.lines[i]
		if !l.read {
			continue
		}
		if link, ok := claims.LinkOf(l.kept); ok {
			link.Leaf = l.rec.Leaf
			if links[link.Device] == nil {
				order = append(order, link.Device)
			}
			links[link.Device] = append(links[link.Device], link)
		}
	}
	var blocks []Block
	for i, device := range order {
		if i == 0 {
			blocks = append(blocks, Text{Head, "Devices"})
		}
		report := claims.ReadChain(device, links[device])
		first := slices.MinFunc(links[device], func(a, b claims.Link) int { return cmp.Compare(a.Seq, b.Seq) }).Seq
		says := fmt.Sprintf("%s: %s of this job, numbered %d to %d by the device. Where one follows another here it carries that one's hash.", device, entryCount(report.Entries), first, report.Last)
		var missing uint64
		var flaws []Block
		for _, f := range report.Flaws {
			switch f.Kind {
			case "gap":
				if f.Seq >= first {
					missing += f.Until - f.Seq + 1
				}
			case "late":
				flaws = append(flaws, Text{Warn, device + ": " + f.Says})
			default:
				flaws = append(flaws, Text{Bad, device + ": " + f.Says})
				says = fmt.Sprintf("%s: %s of this job, numbered %d to %d by the device.", device, entryCount(report.Entries), first, report.Last)
			}
		}
		if missing > 0 {
			says += fmt.Sprintf(" %d numbers in between are not in this bundle: they may stand on other jobs, not have been sent, or be lost. A bundle can't tell which; the shop's server can.", missing)
		}
		blocks = append(blocks, Text{Plain, says})
		blocks = append(blocks, flaws[:min(len(flaws), 20)]...)
		if len(flaws) > 20 {
			blocks = append(blocks, Text{Warn, fmt.Sprintf("%s: and %d more.", device, len(flaws)-20)})
		}
	}
	return blocks
}
