package web

import (
	"go/ast"
	"go/parser"
	"go/token"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// catalogue reads files of the app's catalogue: the keys that have a text.
func catalogue(t *testing.T, files ...string) map[string]bool {
	t.Helper()
	entry := regexp.MustCompile(`"([a-zA-Z0-9.-]+)": (?:"[^"]|\{ *one)`)
	have := map[string]bool{}
	for _, name := range files {
		raw, err := os.ReadFile(filepath.Join("..", "..", "pwa", "static", "js", filepath.FromSlash(name)))
		require.NoError(t, err)
		for _, m := range entry.FindAllStringSubmatch(string(raw), -1) {
			have[m[1]] = true
		}
	}
	require.Greater(t, len(have), 500)
	return have
}

// stringsIn are the string literals in a function of claims, or the values of its constants of a type: what the server can send.
func stringsIn(t *testing.T, file, function, constants string) []string {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", "..", "claims", file), nil, 0)
	require.NoError(t, err)
	var list []string
	collect := func(n ast.Node) bool {
		if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			if s, err := strconv.Unquote(lit.Value); err == nil && regexp.MustCompile(`^[a-z][a-z-]+$`).MatchString(s) {
				list = append(list, s)
			}
		}
		return true
	}
	for _, d := range parsed.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			name := d.Name.Name
			if d.Recv != nil {
				recv := d.Recv.List[0].Type
				if star, ok := recv.(*ast.StarExpr); ok {
					recv = star.X
				}
				name = recv.(*ast.Ident).Name + "." + name
			}
			if name == function {
				ast.Inspect(d.Body, collect)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				if v, ok := s.(*ast.ValueSpec); ok && constants != "" {
					if id, ok := v.Type.(*ast.Ident); ok && id.Name == constants {
						ast.Inspect(v, collect)
					}
				}
			}
		}
	}
	require.NotEmpty(t, list, "%s %s%s", file, function, constants)
	return list
}

// Every word that the server can send has a text on the screen: those of the vocabulary by their title or the catalogue's, all others in
// the catalogue. The words are read from the code that sends them, so that a new one can't be forgotten.
func TestEveryWordHasAText(t *testing.T) {
	have, spanish := catalogue(t, "words-en.js", "desk/words-en.js"), catalogue(t, "words-es.js", "desk/words-es.js")
	f := newFixture(t)
	vocabulary := f.owner.do(http.MethodGet, "/vocabulary", nil).json()
	require.NotEmpty(t, vocabulary["refusalReasons"])
	for list, terms := range vocabulary {
		for _, term := range terms.([]any) {
			id, title := term.(map[string]any)["id"].(string), term.(map[string]any)["title"].(string)
			assert.Regexp(t, `^\S.*[^\s-]$`, title, "%s %s", list, id)
			assert.NotEqual(t, id, title, "%s has the word itself for a title", list)
			assert.True(t, spanish["term."+list+"."+id] || spanish["term."+id], "the Spanish catalogue has no %q", "term."+list+"."+id)
		}
	}
	answers := func(field, prefix string, words []string) {
		t.Run(field, func(t *testing.T) {
			for _, w := range words {
				assert.True(t, have[prefix+w], "the catalogue has no %q", prefix+w)
			}
		})
	}
	answers("kinds of entry", "kind.", append(stringsIn(t, "kinds.go", "", "Kind"), stringsIn(t, "handed_in.go", "", "Kind")...))
	var stages []string
	for _, s := range append(stringsIn(t, "progress.go", "Job.Stage", ""), "complete") {
		switch s {
		case "question", "paid-short": // outcomes that the function looks at
		default:
			stages = append(stages, s)
		}
	}
	answers("stages", "term.", stages)
	answers("states of the board", "board.", claims.BoardStates())
	answers("verdicts on coverage", "office.", []string{"covered", "partly", "not-covered", "cannot-say"})
	var dues []string
	for _, s := range append(stringsIn(t, "deadline.go", "Job.Deadlines", ""), stringsIn(t, "deadline.go", "Job.partReturn", "")...) {
		if s == "submit" || s == "return" || strings.HasPrefix(s, "answer-") && !strings.HasSuffix(s, "-") {
			dues = append(dues, s)
		}
	}
	require.Contains(t, dues, "submit")
	require.Contains(t, dues, "return")
	dues = append(dues, "answer-customer")
	for _, w := range dues { // in English the card says what is due itself
		assert.True(t, spanish["term.due."+w], "the Spanish catalogue has no %q", "term.due."+w)
	}
	outcomes := func(file, function string) []string {
		var list []string
		for _, s := range stringsIn(t, file, function, "") {
			switch s {
			case "outcome", "paid", "reason", "words", "replyBy", "from", "amount", "lines", "on", "reference", "says":
			default:
				list = append(list, s)
			}
		}
		return append(list, "paid")
	}
	answers("answers", "answer.", outcomes("claim.go", "Answer.validate"))
	answers("settlements", "settle.", outcomes("payment.go", "Settle.validate"))
	answers("payments", "pay.from.", []string{"payer", "customer"})
	for _, field := range []struct {
		name  string
		words []string
	}{
		{"startEvent", []string{"purchase", "installation", "manufacture"}}, {"endRule", []string{"exclusive", "inclusive"}}, {"decides", []string{"reported", "visited"}},
		{"dayRule", []string{"calendar", "roll", "business"}}, {"limitRule", []string{"after-deductible", "before-deductible"}},
	} {
		answers("coverage "+field.name, "coverage."+field.name+".", field.words)
		for _, w := range field.words {
			raw := []byte(`{"` + field.name + `":"` + w + `"}`)
			assert.NoError(t, claims.CheckBody(claims.KindCoverage, raw), "the domain takes %s", raw)
		}
	}
}
