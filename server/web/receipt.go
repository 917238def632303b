package web

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// receiptAnswer is a receipt with the code that a person can read out, and a picture of the whole checkpoint for a phone.
type receiptAnswer struct {
	claims.Receipt
	// Code is the number of entries in the shop's log and the first 100 bits of its root hash (custody.Code).
	Code string `json:"code"`
	// QR is an SVG of a QR code that holds the signed checkpoint.
	QR string `json:"qr"`
}

// getReceipt makes a job's receipt for the customer.
func (s *Server) getReceipt(c echo.Context) error {
	r, err := s.opt.Service.Receipt(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return err
	}
	point, err := custody.Peek([]byte(r.Checkpoint))
	if err != nil {
		return fmt.Errorf("receipt of job %s: %w", r.Job, err)
	}
	picture, err := QR(r.Checkpoint)
	if err != nil {
		return fmt.Errorf("receipt of job %s: %w", r.Job, err)
	}
	return answer(c, http.StatusOK, receiptAnswer{Receipt: r, Code: point.Code().String(), QR: picture})
}
