package bundle

import (
	"bytes"
	"fmt"
	"strings"
)

// readme says in plain words what is what and how to check everything with tools that are not ours.
func (pl *plan) readme() []byte {
	var o bytes.Buffer
	p := func(format string, args ...any) { fmt.Fprintf(&o, format+"\n", args...) }
	if pl.view == nil {
		p("Evidence for claim %s", oneLine(pl.number))
	} else {
		p("Dispute file of job %s", oneLine(pl.number))
	}
	p("%s", oneLine(unitTitle(&pl.job.Unit)))
	p("Built %s by %s for %s, version %d.", pl.built.Format("2006-01-02 15:04:05 UTC"), oneLine(pl.parcel.BuiltBy), oneLine(pl.parcel.Shop.Name), pl.parcel.Version)
	p("")
	p("WHAT IS WHAT")
	if pl.view == nil {
		p("  report.pdf            the claim for a person: summary, checklist, readings, amounts, photo sheets")
	} else {
		p("  report.pdf            the answer for a person: letter, findings, timeline, condition record, exhibits, signatures, certification template")
	}
	p("  index.html            the same to look through; open it from the unzipped folder, it needs no network")
	p("  evidence.csv          one row for each item (cells that a spreadsheet could take for a formula begin with ')")
	p("  evidence.json         the same and everything else, for programs; described by evidence.schema.json")
	p("  originals/            photos, clips and documents, byte for byte as received, in the order of the report")
	p("  thumbnails/           small pictures for index.html")
	p("  custody/entries.txt   every entry of the job's journal, one a line: its index in the shop's log and its exact bytes")
	p("  custody/checkpoint.txt, key.txt, proofs.json, time-stamp-N.tsr")
	p("                        the signed state of the shop's log, the key, the proofs, and time stamps by others, as far as there are any")
	p("")
	p("HOW TO CHECK IT")
	p("The commands are for the folder that holds bagit.txt.")
	p("  1. Nothing was changed, lost or added since the bundle was built:")
	p("       unzip -t FILE.zip")
	p("       sha256sum -c manifest-sha256.txt")
	p("       sha256sum -c tagmanifest-sha256.txt")
	p("     and no file under data/ is missing from manifest-sha256.txt. Other SHA-256 tools do as well.")
	p("  2. A photo is the one that the journal names: its sum in manifest-sha256.txt stands as \"digest\" in a line of")
	p("     custody/entries.txt and as \"sha256\" in evidence.json.")
	p("  3. A line of custody/entries.txt is a leaf of the shop's log (RFC 6962). With L the line without the number and the")
	p("     space before it, the leaf's hash is the SHA-256 of a zero byte followed by L:")
	p("       (printf '\\000'; sed -n 1p data/custody/entries.txt | cut -d' ' -f2- | tr -d '\\n') | sha256sum")
	p("  4. proofs.json leads from each leaf to the root hash in checkpoint.txt: start with the leaf's hash and take in one hash of")
	p("     its path after the other, each time SHA-256 of a byte 01 and the two, as RFC 9162 describes in 2.1.3.2.")
	p("  5. checkpoint.txt is signed with the key in key.txt (Ed25519; the text up to the empty line is signed):")
	p("       sed '/^$/,$d' data/custody/checkpoint.txt > T")
	p("       sed -n 's/^— [^ ]* //p' data/custody/checkpoint.txt | head -n 1 | base64 -d | tail -c 64 > S")
	p("       (printf '\\060\\052\\060\\005\\006\\003\\053\\145\\160\\003\\041\\000'; cut -d+ -f3- data/custody/key.txt | base64 -d | tail -c 32) > K")
	p("       openssl pkeyutl -verify -pubin -keyform DER -inkey K -rawin -in T -sigfile S")
	p("     Compare the key with one that the shop gave you another way: a key from the bundle alone shows only that its parts belong together.")
	p("  6. A time stamp was made by somebody else over checkpoint.txt:")
	p("       openssl ts -verify -data data/custody/checkpoint.txt -in data/custody/time-stamp-1.tsr -CAfile AUTHORITY.pem")
	p("")
	p("WHAT THIS SHOWS, AND WHAT IT DOES NOT")
	p("The sums show that these are the bytes the shop put into the bundle. The log shows the order in which the entries")
	p("reached the shop, to whoever knows an earlier checkpoint or trusts a time stamp. None of it shows that what a")
	p("person typed is true, or what a picture means; that is for the reader. The PDF is made from reduced pictures: the originals decide.")
	p("This is not legal advice.")
	p("")
	p("WHAT WAS HELD BACK")
	if !pl.leftOut() {
		p("Nothing. Photos that were struck from the account are listed with their sums, without the picture.")
	} else {
		what := "On request of the shop: " + strings.Join(pl.parcel.Hold.Names(), ", ")
		if pl.view != nil {
			what = "This file leaves out " + pl.leftWords()
		}
		p("%s.", what)
		p("A held-back entry stands in custody/entries.txt as its leaf's hash, a held-back")
		p("original as its SHA-256, so that it can be asked for and compared. Pictures and free text were not searched beyond the")
		p("recorded names, numbers and addresses: a proof of purchase may still show a name.")
		if !pl.hold.hold.Position {
			p("Positions were not held back: they tell where the pictures were taken.")
		}
		if pl.parcel.Hold.Covered {
			p("Covered: where somebody drew shapes over a picture, a copy without metadata with these filled in black stands in for the")
			p("original. evidence.json lists the shapes under \"derived\"; the copy's name ends in -covered.jpg.")
		}
		for _, w := range pl.left {
			if w.What == "entry" {
				p("  entry %d of the log (%s)", *w.Leaf, w.Why)
			} else {
				p("  original of %s, SHA-256 %s (%s)", w.Name, w.Digest, w.Why)
			}
		}
	}
	return o.Bytes()
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
