package bundle

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// Sizes in millimetres.
const (
	margin   = 15.0
	footRoom = 14.0
)

// printer lays a Document out on pages. It breaks lines and pages itself, so that no text, however long, runs out of its place.
type printer struct {
	pdf     *fpdf.Fpdf
	cover   *sfnt.Font
	glyphs  sfnt.Buffer
	pics    *pictureSet
	w, h    float64 // page
	y       float64
	images  map[string]bool
	size    float64
	missing bool // a character was not in the fonts
}

// renderPDF makes report.pdf. Equal documents and pictures give equal bytes.
func renderPDF(ctx context.Context, d *Document, pics *pictureSet) ([]byte, error) {
	paper := "A4"
	if d.Letter {
		paper = "Letter"
	}
	pdf := fpdf.New("P", "mm", paper, "")
	cover, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("read the report's font: %w", err)
	}
	p := &printer{pdf: pdf, cover: cover, pics: pics, images: map[string]bool{}}
	p.w, p.h = pdf.GetPageSize()
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(d.Made)
	pdf.SetModificationDate(d.Made)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetCellMargin(0)
	pdf.AddUTF8FontFromBytes("go", "", bytes.Clone(goregular.TTF))
	pdf.AddUTF8FontFromBytes("go", "B", bytes.Clone(gobold.TTF))
	pdf.AddUTF8FontFromBytes("gomono", "", bytes.Clone(gomono.TTF))
	pdf.SetTitle(p.clean(d.Title+", "+d.Subtitle), true)
	pdf.SetAuthor(p.clean(d.Author), true)
	pdf.SetCreator("Kickplate, "+Format, true)
	pdf.SetLang("en")
	p.page()
	p.font("B", 16)
	p.write(d.Title, p.width(), 7)
	p.font("", 10)
	p.tone(Quiet)
	p.write(d.Subtitle, p.width(), 5)
	p.y += 2
	for i := range d.Sections {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p.section(&d.Sections[i], i == 0)
	}
	if p.missing {
		p.room(10)
		p.font("", 9)
		p.tone(Warn)
		p.write("□ stands for a character that the fonts of this report do not have. index.html and evidence.json have the full text.", p.width(), 4.5)
	}
	p.feet(d.Foot)
	var out bytes.Buffer
	if err := pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("write report.pdf: %w", err)
	}
	return out.Bytes(), nil
}

func (p *printer) width() float64  { return p.w - 2*margin }
func (p *printer) bottom() float64 { return p.h - footRoom }

func (p *printer) page() {
	p.pdf.AddPage()
	p.y = margin
}

// room starts a new page unless h millimetres are left on this one.
func (p *printer) room(h float64) {
	if p.y+h > p.bottom() && p.y > margin {
		p.page()
	}
}

func (p *printer) font(style string, size float64) {
	family := "go"
	if style == "M" {
		family, style = "gomono", ""
	}
	p.pdf.SetFont(family, style, size)
	p.size = size
}

func (p *printer) tone(t Tone) {
	switch t {
	case Good:
		p.pdf.SetTextColor(17, 99, 41)
	case Warn:
		p.pdf.SetTextColor(122, 74, 0)
	case Bad:
		p.pdf.SetTextColor(164, 14, 38)
	case Quiet:
		p.pdf.SetTextColor(87, 96, 106)
	default:
		p.pdf.SetTextColor(20, 24, 28)
	}
}

// clean keeps what the fonts can show. Text is composed (NFC) first; marks of format and control are dropped, other
// characters that the fonts lack become □, and the report says so.
func (p *printer) clean(s string) string {
	var out strings.Builder
	for _, r := range norm.NFC.String(s) {
		switch {
		case r == '\n':
			out.WriteRune(r)
		case r == '\t':
			out.WriteByte(' ')
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Variation_Selector, r):
		case r < 0x7f:
			out.WriteRune(r)
		default:
			if unicode.Is(unicode.Zs, r) {
				r = ' '
			}
			if i, err := p.cover.GlyphIndex(&p.glyphs, r); err != nil || i == 0 || r > 0xffff {
				p.missing, r = true, '□'
			}
			out.WriteRune(r)
		}
	}
	return out.String()
}

// wrap breaks text into lines no wider than w, at spaces where it can, within a word where it must.
func (p *printer) wrap(s string, w float64) []string {
	var lines []string
	for _, para := range strings.Split(strings.TrimRight(p.clean(s), "\n "), "\n") {
		line, used := "", 0.0
		space := p.pdf.GetStringWidth(" ")
		for _, word := range strings.Split(para, " ") {
			ww := p.pdf.GetStringWidth(word)
			if line != "" && used+space+ww <= w {
				line, used = line+" "+word, used+space+ww
				continue
			}
			if line != "" {
				lines = append(lines, line)
			}
			line, used = word, ww
			for used > w {
				head, tail := p.split(line, w)
				lines = append(lines, head)
				line, used = tail, p.pdf.GetStringWidth(tail)
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// split cuts a word that is wider than w; at least one character goes into the head.
func (p *printer) split(word string, w float64) (head, tail string) {
	used := 0.0
	for i, r := range word {
		used += p.pdf.GetStringWidth(string(r))
		if used > w && i > 0 {
			return word[:i], word[i:]
		}
	}
	return word, ""
}

// write prints text at the left margin, over pages where needed.
func (p *printer) write(s string, w, lead float64) { p.writeAt(margin, s, w, lead) }

func (p *printer) writeAt(x float64, s string, w, lead float64) {
	for _, line := range p.wrap(s, w) {
		p.room(lead)
		p.put(x, p.y, line, lead)
		p.y += lead
	}
}

// put prints one line in a box of height lead whose top is y.
func (p *printer) put(x, y float64, line string, lead float64) {
	if line == "" {
		return
	}
	p.pdf.Text(x, y+lead/2+p.size*0.3528*0.36, line)
}

func (p *printer) section(s *Section, first bool) {
	if s.Break && p.y > margin {
		p.page()
	}
	if !first {
		p.room(p.opening(s))
		if p.y > margin {
			p.y += 4
		}
	}
	p.pdf.Bookmark(p.clean(s.Title), 0, p.y)
	if !first {
		p.font("B", 13)
		p.tone(Plain)
		p.write(s.Title, p.width(), 6)
		p.pdf.SetDrawColor(160, 168, 176)
		p.pdf.SetLineWidth(0.3)
		p.pdf.Line(margin, p.y+0.5, p.w-margin, p.y+0.5)
		p.y += 2.5
	}
	for _, b := range s.Blocks {
		switch b := b.(type) {
		case Text:
			p.text(b)
		case Pairs:
			p.pairs(b)
		case Table:
			p.table(b)
		case Points:
			p.points(b)
		case Pictures:
			p.sheets(b)
		case Signature:
			p.signature(b)
		case Drawing:
			p.drawing(b)
		}
	}
}

// opening is the room that a section asks for, so that its title never stands alone: up to the first row of a table or of pictures.
func (p *printer) opening(s *Section) float64 {
	const titled = 4 + 6 + 2.5
	h := titled
	for _, b := range s.Blocks {
		switch b := b.(type) {
		case Text:
			p.font("", 9.5)
			h += float64(len(p.wrap(b.Text, p.width())))*4.6 + 2.5
		case Table:
			return max(30, h+p.tableOpening(b))
		case Pictures:
			return max(30, h+p.rowHeight(b.Items[:min(2, len(b.Items))]))
		case Drawing:
			return max(30, h+min(b.Height*p.width()/b.Width, p.bottom()-margin-h))
		default:
			return max(30, h+16)
		}
		if h > 60 { // text may go on over pages
			return 40
		}
	}
	return max(30, min(h, 40))
}

func (p *printer) text(t Text) {
	p.tone(t.Tone)
	switch t.Tone {
	case Head:
		p.room(26) // a heading does not stand alone at the foot of a page
		p.y += 1.5
		p.font("B", 10)
		p.write(t.Text, p.width(), 5)
	case Code:
		p.font("M", 8)
		p.write(t.Text, p.width(), 4)
		p.y += 1
	case Good, Bad, Warn:
		p.font("B", 9.5)
		p.write(t.Text, p.width(), 4.6)
		p.y += 0.8
	default:
		p.font("", 9.5)
		p.write(t.Text, p.width(), 4.6)
		p.y += 0.8
	}
}

// pairs prints labelled values, with the picture to the right.
func (p *printer) pairs(b Pairs) {
	w, top, start := p.width(), p.y, p.pdf.PageNo()
	if b.Picture != nil {
		w -= 66
	}
	const label = 30.0
	for _, r := range b.Rows {
		p.font("", 9.5)
		lines := p.wrap(r.Value, w-label)
		p.room(4.6)
		p.tone(Quiet)
		p.put(margin, p.y, p.wrap(r.Label, label-2)[0], 4.6)
		p.tone(r.Tone)
		for _, line := range lines {
			p.room(4.6)
			p.put(margin+label, p.y, line, 4.6)
			p.y += 4.6
		}
	}
	if b.Picture == nil || p.pdf.PageNo() != start { // no room beside a list over two pages: the picture is on the sheets
		p.y += 2
		return
	}
	h := p.image(b.Picture, p.w-margin-62, top, 62, 48)
	p.font("", 8)
	p.tone(Quiet)
	y := top + h + 0.5
	for _, line := range p.wrap(fmt.Sprintf("%d  %s", b.Picture.No, b.Picture.Title), 62) {
		p.put(p.w-margin-62, y, line, 3.6)
		y += 3.6
	}
	p.y = max(p.y, y) + 2
}

// feet prints the foot and the page numbers, now that their number is known.
func (p *printer) feet(foot string) {
	n := p.pdf.PageCount()
	for i := 1; i <= n; i++ {
		p.pdf.SetPage(i)
		p.font("", 7.01) // another size first: the page's own last font is not what the library thinks it is
		p.font("", 7.5)
		p.tone(Quiet)
		count := fmt.Sprintf("Page %d of %d", i, n)
		room := p.width() - 30
		p.put(margin, p.h-11, p.wrap(foot, room)[0], 4)
		p.put(p.w-margin-p.pdf.GetStringWidth(count), p.h-11, count, 4)
	}
}
