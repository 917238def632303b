package register_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/memstore"
	"kickplate/claims/register"
)

var (
	ctx  = context.Background()
	desk = claims.Actor{Shop: "corner", Person: "lee", Role: claims.Office, Device: "desk"}
	tech = claims.Actor{Shop: "corner", Person: "kim", Role: claims.Technician, Device: "phone"}
)

func open() *register.Register {
	return &register.Register{Stores: memstore.Open(), Kinds: []string{"refrigerator", "dryer-gas"}, Now: func() time.Time { return time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC) },
		MakeID: func() string { return uuid.Must(uuid.NewV7()).String() }}
}

const list = "Name;Phone;E-mail;Address;Unit;Maker;Model;Serial number;Bought;Shoe size\r\n" +
	"Ottilie Brandt;+1 555 010 0199;o@brandt.example;\"9 Kiln Street; rear\";Refrigerator;Norrvik;NV-418;AB 12;2024-02-29;44\r\n" +
	"\"Tiller, \"\"Jo\"\"\";;;;dryer gas;;;;;\r\n"

// What a file brings is told first; nothing of it is kept before it is confirmed.
func TestPreviewThenKeep(t *testing.T) {
	g := open()
	p, err := g.Preview(ctx, desk, []byte(list))
	require.NoError(t, err)
	assert.Equal(t, 2, p.New)
	assert.Zero(t, p.Bad)
	assert.Equal(t, []string{"Shoe size"}, p.Ignored)
	require.Len(t, p.Rows, 2)
	assert.Equal(t, register.Row{Name: "Ottilie Brandt", Phone: "+1 555 010 0199", Email: "o@brandt.example", Address: "9 Kiln Street; rear", UnitKind: "refrigerator", Maker: "Norrvik",
		Model: "NV-418", Serial: "AB 12", Purchased: "2024-02-29"}, p.Rows[0])
	assert.Equal(t, `Tiller, "Jo"`, p.Rows[1].Name)
	n, err := g.Count(ctx, desk)
	require.NoError(t, err)
	assert.Zero(t, n, "nothing is kept yet")

	_, err = g.Keep(ctx, desk, []byte(list+"x;;;;;;;;;\r\n"), p.File, false)
	assert.Equal(t, claims.Stale, claims.CodeOf(err), "another file than the one that was looked at")
	_, err = g.Keep(ctx, desk, []byte(list), p.File, false)
	require.NoError(t, err)
	for range 2 {
		p, err = g.Keep(ctx, desk, []byte(list), p.File, false)
		require.NoError(t, err)
		assert.Zero(t, p.New)
		assert.Equal(t, 2, p.Already)
	}
	for typed, want := range map[string]int{"ottil": 1, "brandt norrvik": 1, "ab12": 1, "555 010": 1, "brandt tiller": 0, "": 0, "kiln": 1} {
		rows, err := g.Find(ctx, tech, typed)
		require.NoError(t, err)
		assert.Len(t, rows, want, typed)
	}
	rows, err := g.Find(ctx, tech, "tiller")
	require.NoError(t, err)
	assert.Equal(t, claims.Forbidden, claims.CodeOf(g.Remove(ctx, tech, rows[0].ID)))
	require.NoError(t, g.Remove(ctx, desk, rows[0].ID))
	assert.Equal(t, claims.NotFound, claims.CodeOf(g.Remove(ctx, desk, rows[0].ID)))
	n, err = g.Count(ctx, desk)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	other := desk
	other.Shop = "elsewhere"
	rows, err = g.Find(ctx, other, "brandt")
	require.NoError(t, err)
	assert.Empty(t, rows, "another shop's")
}

// Each bad cell is told with its line as an editor counts, its column, and what to write.
func TestBadRows(t *testing.T) {
	g := open()
	file := "name,phone,email,unit,purchased,model\n" + // 1
		"Good One,,,,,\n" + // 2
		",,,,,M-1\n" + // 3
		"A,call me,,,,\n" + // 4
		"B,,someone,,,\n" + // 5
		"C,,,teapot,,\n" + // 6
		"D,,,,31.12.2024,\n" + // 7
		"\"E\nsecond line\",,,,2023-02-29,\n" + // 8 and 9
		"F,,,,,,more\n" + // 10
		"\n" +
		"good one,,,,,\n" + // 12
		"G,,,,," + strings.Repeat("x", 201) + "\n" // 13
	p, err := g.Preview(ctx, desk, []byte(file))
	require.NoError(t, err)
	assert.Equal(t, 1, p.New)
	assert.Equal(t, 9, p.Bad)
	type told struct {
		line   int
		column string
	}
	var got []told
	for _, b := range p.Problems {
		got = append(got, told{b.Line, b.Column})
		assert.NotEmpty(t, b.Says)
	}
	assert.Equal(t, []told{{3, "name"}, {4, "phone"}, {5, "email"}, {6, "unit"}, {7, "purchased"}, {8, "purchased"}, {10, ""}, {12, ""}, {13, "model"}}, got)
	assert.Equal(t, "Write one of: refrigerator, dryer-gas.", p.Problems[3].Says)
	assert.Contains(t, p.Problems[7].Says, "line 2")

	_, err = g.Keep(ctx, desk, []byte(file), p.File, false)
	assert.Equal(t, claims.Invalid, claims.CodeOf(err))
	n, err := g.Count(ctx, desk)
	require.NoError(t, err)
	assert.Zero(t, n, "nothing is kept while lines are bad")
	_, err = g.Keep(ctx, desk, []byte(file), p.File, true)
	require.NoError(t, err)
	n, err = g.Count(ctx, desk)
	require.NoError(t, err)
	assert.Equal(t, 1, n, "the good line, since the bad ones are to be left out")
}

func TestFilesThatAreNone(t *testing.T) {
	g := open()
	for name, file := range map[string]string{
		"empty": "", "no name column": "phone,email\n1,2\n", "twice the same column": "name,customer\na,b\n", "Latin-1": "name\nM\xfcller\n", "a spreadsheet": "PK\x03\x04\x00\x00", "UTF-16": "\xff\xfen\x00a\x00",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := g.Preview(ctx, desk, []byte(file))
			assert.Equal(t, claims.Invalid, claims.CodeOf(err), "%v", err)
		})
	}
	_, err := g.Preview(ctx, desk, []byte("name\n"+strings.Repeat("x\n", register.MaxFile/2)))
	assert.Equal(t, claims.TooLarge, claims.CodeOf(err))
	var many strings.Builder
	many.WriteString("name\n")
	for i := range register.MaxRows + 1 {
		fmt.Fprintf(&many, "n%d\n", i)
	}
	_, err = g.Preview(ctx, desk, []byte(many.String()))
	assert.Equal(t, claims.TooLarge, claims.CodeOf(err))
	_, err = g.Preview(ctx, tech, []byte(list))
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err))
	p, err := g.Preview(ctx, desk, []byte("name\n\"open\nend"))
	require.NoError(t, err)
	assert.Equal(t, 1, p.Bad)
	assert.Equal(t, 2, p.Problems[0].Line)
}

// Empty cells between tabs are cells.
func TestTabs(t *testing.T) {
	p, err := open().Preview(ctx, desk, []byte("name\tphone\tserial\nA\t\tS-1\n"))
	require.NoError(t, err)
	require.Len(t, p.Rows, 1)
	assert.Equal(t, "S-1", p.Rows[0].Serial)
}

// A list that was exported from here comes back as it went out, apostrophes before would-be formulas included.
func TestOwnExportComesBack(t *testing.T) {
	g := open()
	var out strings.Builder
	w, err := claims.NewCSV(&out, "name", "phone")
	require.NoError(t, err)
	names := []string{"=1+1", "'quoted'", "-x", "@home", "plain"}
	for _, n := range names {
		require.NoError(t, w.Write(n, "+1 555 010 0100"))
	}
	require.NoError(t, w.Flush())
	p, err := g.Preview(ctx, desk, []byte("\xef\xbb\xbf"+out.String()))
	require.NoError(t, err)
	assert.Empty(t, p.Problems)
	for i, r := range p.Rows {
		assert.Equal(t, names[i], r.Name)
		assert.Equal(t, "+1 555 010 0100", r.Phone)
	}
}

// Whatever a file holds, its lines are taken or told of, and a second look says the same.
func FuzzPreview(f *testing.F) {
	for _, seed := range []string{list, "name\nx\n", "name,unit\n\"a\nb\",teapot\n", "name\t phone\n'=x\t+1 555\n", "\xef\xbb\xbfname\r\n\r\n", "name\n\"open", "name,name\n"} {
		f.Add([]byte(seed))
	}
	g := open()
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, err := g.Preview(ctx, desk, raw)
		if err != nil {
			if claims.CodeOf(err) == "" {
				t.Fatalf("not a sentence: %v", err)
			}
			return
		}
		lines := strings.Count(string(raw), "\n") + 1
		if p.New+p.Bad > lines {
			t.Fatalf("%d rows and %d bad of %d lines", p.New, p.Bad, lines)
		}
		for _, b := range p.Problems {
			if b.Line < 1 || b.Line > lines || b.Says == "" {
				t.Fatalf("a problem at line %d of %d: %q", b.Line, lines, b.Says)
			}
		}
		again, err := g.Preview(ctx, desk, raw)
		if err != nil || again.New != p.New || again.File != p.File {
			t.Fatalf("a second look: %v", err)
		}
	})
}
