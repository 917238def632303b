// Package web is Kickplate's HTTP face: the API of openapi.yaml, one handler file per use-case, over claims.Service and
// claims.Access. It translates: requests into calls, claims.Error into problem details (errors.go is the one place), and
// keeps uploads under way in a folder of its own until they are whole.
//
// Permission and validation live in claims; this package must never decide who may do what beyond asking there. It
// must never import a concrete store, media or claims/bundle: those come in through the contracts of claims. No
// other package imports echo.
package web
