package privacy

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"
	"time"

	"kickplate/claims"
)

// renderPage makes the page that a person reads: one file, no script, nothing from a network.
func renderPage(shop claims.Shop, by string, made time.Time, jobs []copied) ([]byte, error) {
	t, err := template.New("page").Funcs(template.FuncMap{
		"picture": func(f fileOf) bool {
			return !f.Missing && (strings.HasSuffix(f.Name, ".jpg") || strings.HasSuffix(f.Name, ".jpeg") || strings.HasSuffix(f.Name, ".png") || strings.HasSuffix(f.Name, ".webp"))
		},
		"day":  func(t time.Time) string { return t.Format("2006-01-02") },
		"rows": func(c copied) []entryRow { return c.lines },
	}).Parse(pageTemplate)
	if err != nil {
		return nil, fmt.Errorf("read the page's template: %w", err)
	}
	var out bytes.Buffer
	if err := t.Execute(&out, map[string]any{"Shop": shop, "By": by, "Made": made, "Jobs": jobs}); err != nil {
		return nil, fmt.Errorf("write index.html: %w", err)
	}
	return out.Bytes(), nil
}

const pageTemplate = `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Everything {{.Shop.Name}} holds</title>
<style>
body{font:16px/1.5 system-ui,sans-serif;margin:0 auto;padding:1rem;max-width:60rem;color:#1a1a1a;background:#fff}
h1,h2,h3{line-height:1.2}section{border-top:2px solid #ccc;padding-top:.5rem;margin-top:2rem}
dt{font-weight:600}dd{margin:0 0 .5rem}img{max-width:100%;height:auto;max-height:20rem;border:1px solid #ccc}
ul.files{list-style:none;padding:0;display:grid;grid-template-columns:repeat(auto-fill,minmax(16rem,1fr));gap:1rem}
pre{white-space:pre-wrap;overflow-wrap:anywhere;background:#f4f4f4;padding:.5rem;margin:.25rem 0 1rem;font-size:.85rem}
.small{font-size:.85rem;color:#555}
</style></head><body>
<h1>Everything {{.Shop.Name}} holds on these jobs</h1>
<p>Copied by {{.By}} on {{day .Made}}. {{with .Shop.Address}}{{.}}. {{end}}{{with .Shop.Contact}}{{.}}{{end}}</p>
{{range .Jobs}}{{$c := .}}<section>
<h2>Job {{.Job.Open.Number}}</h2>
<dl>
<dt>Name</dt><dd>{{or .Job.Customer.Name "not recorded"}}</dd>
<dt>Telephone</dt><dd>{{or .Job.Customer.Phone "not recorded"}}</dd>
<dt>Mail</dt><dd>{{or .Job.Customer.Email "not recorded"}}</dd>
<dt>Address</dt><dd>{{or .Job.Site.Address "not recorded"}}</dd>
{{with .Job.Site.Position}}<dt>Position</dt><dd>{{.Lat}}, {{.Lon}}</dd>{{end}}
<dt>Appliance</dt><dd>{{.Job.Unit.Kind}} {{.Job.Unit.Maker}} {{.Job.Unit.Model}} {{.Job.Unit.Serial}}</dd>
<dt>Complaint</dt><dd>{{or .Job.Open.Complaint "not recorded"}}</dd>
<dt>From, to</dt><dd>{{day .Job.Opened}} – {{day .Job.Changed}}</dd>
</dl>
<h3>Photos, documents and bundles ({{len .Files}})</h3>
<ul class="files">{{range .Files}}<li>{{if picture .}}<a href="{{$c.Folder}}{{.Name}}"><img src="{{$c.Folder}}{{.Name}}" alt="{{.What}}" loading="lazy"></a><br>{{end}}
{{if .Missing}}{{.What}}: the bytes are no longer kept{{else}}<a href="{{$c.Folder}}{{.Name}}">{{.What}}</a>{{end}}<br><span class="small">SHA-256 {{.SHA256}}</span></li>{{end}}</ul>
<h3>Everything that was written down, in order of arrival ({{.Entries}})</h3>
{{range rows .}}<p><b>{{.Kind}}</b> <span class="small">{{.At}}, {{.By}}</span></p><pre>{{.Body}}</pre>
{{end}}</section>{{end}}
</body></html>
`
