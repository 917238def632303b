package media

import (
	"context"
	"io"

	"kickplate/claims"
)

// Codes looks for bar and QR codes; see claims.Examiner.
func (e *Examiner) Codes(ctx context.Context, r io.ReaderAt, size int64) ([]claims.Code, error) {
	return nil, nil
}
