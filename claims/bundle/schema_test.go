package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func compileSchema(t testing.TB) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	require.NoError(t, c.AddResource("evidence.schema.json", doc))
	s, err := c.Compile("evidence.schema.json")
	require.NoError(t, err)
	return s
}

// evidence.json is held against its schema by an independent library (santhosh-tekuri/jsonschema, draft 2020-12).
func TestEvidenceMeetsSchema(t *testing.T) {
	s := compileSchema(t)
	for _, hold := range []claims.Hold{{}, {Customer: true}, {Position: true}, {Customer: true, Position: true}, {Covered: true}, {Customer: true, Position: true, Covered: true}} {
		t.Run(fmt.Sprint(hold.Names()), func(t *testing.T) {
			p := goodParcel(t)
			p.Hold = hold
			data, _ := pack(t, p)
			raw := open(t, data).data["data/evidence.json"]
			doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
			require.NoError(t, err)
			require.NoError(t, s.Validate(doc))

			tree := doc.(map[string]any) // and the schema must be able to refuse
			tree["surprise"] = true
			require.Error(t, s.Validate(doc))
			delete(tree, "surprise")
			photo := tree["photos"].([]any)[0].(map[string]any)
			photo["surprise"] = 1
			require.Error(t, s.Validate(doc))
			delete(photo, "surprise")
			photo["file"] = "data/../x"
			require.Error(t, s.Validate(doc))
		})
	}
}

// Every field of the Go types stands in the schema, and the other way round: nobody adds one and forgets the other.
func TestSchemaKnowsEveryField(t *testing.T) {
	var doc map[string]any
	require.NoError(t, json.Unmarshal(Schema(), &doc))
	sameFields(t, doc, "evidence", reflect.TypeFor[Evidence](), doc)
}

func sameFields(t *testing.T, root map[string]any, at string, typ reflect.Type, node any) {
	for typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	props := map[string]any{}
	items := any(nil)
	for n := node; ; {
		m, ok := n.(map[string]any)
		if !ok {
			break
		}
		if p, ok := m["properties"].(map[string]any); ok {
			for k, v := range p {
				if _, have := props[k]; !have || v != true {
					props[k] = v
				}
			}
		}
		if either, ok := m["anyOf"].([]any); ok {
			m = either[0].(map[string]any)
		}
		if m["items"] != nil {
			items = m["items"]
		}
		ref, ok := m["$ref"].(string)
		if !ok {
			break
		}
		n = root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")]
	}
	switch {
	case typ.Kind() == reflect.Slice && typ.Elem().Kind() != reflect.Uint8:
		sameFields(t, root, at+"[]", typ.Elem(), items)
	case typ.Kind() == reflect.Struct && typ != reflect.TypeFor[time.Time]():
		fields := map[string]reflect.Type{}
		collect(typ, fields)
		assert.Equal(t, slices.Sorted(maps.Keys(fields)), slices.Sorted(maps.Keys(props)), at)
		for name, ft := range fields {
			if props[name] != nil && props[name] != true {
				sameFields(t, root, at+"."+name, ft, props[name])
			}
		}
	}
}

func collect(typ reflect.Type, into map[string]reflect.Type) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-" || !f.IsExported() && !f.Anonymous:
		case f.Anonymous && name == "":
			collect(f.Type, into)
		default:
			into[name] = f.Type
		}
	}
}
