package memblobs_test

import (
	"testing"

	"kickplate/claims"
	"kickplate/media/blobtest"
	"kickplate/media/memblobs"
)

func TestConformance(t *testing.T) {
	blobtest.Run(t, blobtest.Suite{
		Open:     func(*testing.T) claims.BlobStores { return memblobs.New() },
		InMemory: true,
	})
}
