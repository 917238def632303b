package claims

// Money is an amount in the minor unit of a currency (ISO 4217 code): 1234 USD is $12.34. No floats, ever.
type Money struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"`
}

// IsZero reports whether there is no amount at all.
func (m Money) IsZero() bool { return m == Money{} }
