package web

import (
	"context"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/require"
)

// loaded is the document, read once: under the race detector that takes most of a second. Nobody changes it.
var loaded = sync.OnceValues(func() (*openapi3.T, error) {
	doc, err := openapi3.NewLoader().LoadFromData(document)
	if err != nil {
		return nil, err
	}
	return doc, doc.Validate(context.Background())
})

func loadDocument(t testing.TB) *openapi3.T {
	t.Helper()
	doc, err := loaded()
	require.NoError(t, err)
	return doc
}

func TestDocumentIsValid(t *testing.T) {
	doc := loadDocument(t)
	require.NotZero(t, doc.Paths.Len())
}
