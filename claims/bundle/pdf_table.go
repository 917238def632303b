package bundle

const (
	tableSize = 8.0 // points
	tableLead = 3.9 // millimetres
	gaugeRoom = 11.0
)

// table prints rows, the head again on each page. A row that fits on a page is not broken; a longer one goes on over pages.
func (p *printer) table(t Table) {
	widths := p.columns(t)
	head := func() {
		p.font("B", tableSize)
		p.tone(Quiet)
		x, rows := margin, 1
		for i, h := range t.Head {
			lines := p.wrap(h, widths[i]-2)
			rows = max(rows, len(lines))
			for k, line := range lines {
				at := x
				if t.Right(i) {
					at = x + widths[i] - 2 - p.pdf.GetStringWidth(line)
				}
				p.put(at, p.y+float64(k)*tableLead, line, tableLead)
			}
			x += widths[i]
		}
		p.y += float64(rows)*tableLead + 0.8
		p.rule(0.3)
		p.y += 0.8
	}
	p.room(p.tableOpening(t))
	head()
	for _, row := range t.Rows {
		cells, rows, extra := p.rowLines(row, widths)
		height := float64(rows)*tableLead + extra
		if p.y+height > p.bottom() && (height < p.bottom()-margin-12 || p.bottom()-p.y < 3*tableLead) {
			p.page()
			head()
		}
		bottom := make([]float64, len(row))
		for done := 0; ; {
			fit := max(1, int((p.bottom()-p.y-extra)/tableLead))
			part := min(fit, rows-done)
			p.cells(row, cells, widths, done, part)
			for i := range row {
				bottom[i] = p.y + float64(max(0, min(part, len(cells[i])-done)))*tableLead
			}
			p.y += float64(part) * tableLead
			if done += part; done >= rows {
				break
			}
			p.page()
			head()
		}
		x := margin
		for i, c := range row {
			if c.Gauge != nil {
				p.gauge(c.Gauge, x, bottom[i], widths[i]-3)
			}
			x += widths[i]
		}
		p.y += extra + 0.7
		p.rule(0.1)
		p.y += 0.7
	}
	p.y += 2
}

// columns are the widths in millimetres.
func (p *printer) columns(t Table) []float64 {
	sum := 0.0
	for _, w := range t.Widths {
		sum += w
	}
	widths := make([]float64, len(t.Widths))
	for i, w := range t.Widths {
		widths[i] = w / sum * p.width()
	}
	return widths
}

// rowLines breaks a row into lines: how many it takes, and how much more room a drawing below needs.
func (p *printer) rowLines(row []Cell, widths []float64) (cells [][]string, rows int, extra float64) {
	cells = make([][]string, len(row))
	for i, c := range row {
		p.cellFont(c.Tone)
		cells[i] = p.wrap(c.Text, widths[i]-2)
		rows = max(rows, len(cells[i]))
	}
	for i, c := range row { // a drawing stands below the text of its own cell
		if c.Gauge != nil {
			extra = max(extra, gaugeRoom-float64(rows-len(cells[i]))*tableLead)
		}
	}
	return cells, rows, extra
}

// tableOpening is the room for the head and the first row, so that no head stands alone.
func (p *printer) tableOpening(t Table) float64 {
	const head = 2*tableLead + 2
	if len(t.Rows) == 0 {
		return head
	}
	_, rows, extra := p.rowLines(t.Rows[0], p.columns(t))
	return min(head+float64(rows)*tableLead+extra+1.4, p.bottom()-margin-20)
}

func (p *printer) cellFont(t Tone) {
	switch t {
	case Code:
		p.font("M", 7)
	case Good, Bad, Warn:
		p.font("B", tableSize)
	default:
		p.font("", tableSize)
	}
}

func (p *printer) cells(row []Cell, lines [][]string, widths []float64, from, count int) {
	x := margin
	for i, c := range row {
		p.cellFont(c.Tone)
		p.tone(c.Tone)
		for k := 0; k < count && from+k < len(lines[i]); k++ {
			line, at := lines[i][from+k], x
			if c.Right {
				at = x + widths[i] - 2 - p.pdf.GetStringWidth(line)
			}
			p.put(at, p.y+float64(k)*tableLead, line, tableLead)
		}
		x += widths[i]
	}
}

// points prints a dense list in two columns, read from left to right.
func (p *printer) points(b Points) {
	const lead = 3.7
	colW := (p.width() - 6) / 2
	p.room(3*lead + 4.5)
	if b.Label != "" {
		p.font("B", tableSize)
		p.tone(Quiet)
		p.write(b.Label, p.width(), 4.2)
	}
	for i := 0; i < len(b.Items); i += 2 {
		row := b.Items[i:min(i+2, len(b.Items))]
		var columns [][]string
		most := 0
		p.font("", tableSize)
		for _, it := range row {
			text := it.Text
			if it.Where != "" {
				text += " · " + it.Where
			}
			columns = append(columns, p.wrap(text, colW))
			most = max(most, len(columns[len(columns)-1]))
		}
		for k := range most {
			p.room(lead)
			p.font("", tableSize)
			p.tone(Plain)
			for c, lines := range columns {
				if k < len(lines) {
					p.put(margin+float64(c)*(colW+6), p.y, lines[k], lead)
				}
			}
			p.y += lead
		}
	}
	p.y += 1
}
