package web

import _ "embed"

// document is the API's description, written by hand and first; the tests hold every answer against it.
//
//go:embed openapi.yaml
var document []byte
