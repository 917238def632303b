package memstore_test

import (
	"testing"

	"kickplate/claims"
	"kickplate/claims/memstore"
	"kickplate/claims/storetest"
)

func TestConforms(t *testing.T) {
	storetest.Run(t, storetest.Stores{Open: func(testing.TB) claims.Stores { return memstore.Open() }})
}
