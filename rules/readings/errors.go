package readings

import "fmt"

// Code names the kind of an [Error], for machines.
type Code string

// The codes of errors.
const (
	CodeUnknownQuantity  Code = "unknown-quantity"  // no such quantity
	CodeUnknownUnit      Code = "unknown-unit"      // no such unit at all
	CodeWrongUnit        Code = "wrong-unit"        // a unit, but not of this quantity
	CodeGaugeAbsolute    Code = "gauge-or-absolute" // gauge and absolute pressure confused
	CodeNotANumber       Code = "not-a-number"      // the text is neither a number nor a state
	CodeAmbiguous        Code = "ambiguous"         // the text has two meanings
	CodeImpossible       Code = "impossible"        // no such physical value (below absolute zero …)
	CodeState            Code = "state"             // a state where a number is needed, or the reverse
	CodeBadProfile       Code = "bad-profile"       // the profile is incomplete or contradicts itself
	CodeUnknownModel     Code = "unknown-model"     // no such component model
	CodeOutsideRange     Code = "outside-range"     // the model's source does not cover this point
	CodeWrongQuantity    Code = "wrong-quantity"    // the model judges another quantity
	CodeBadConditions    Code = "bad-conditions"    // a condition contradicts itself
	CodeBadInstrument    Code = "bad-instrument"    // the instrument's data are unusable
	CodeUnknownFluid     Code = "unknown-refrigerant"
	CodeMissingCondition Code = "missing-condition" // the model cannot be drawn or computed without it
)

// Error is every error of this package: a code for machines, the field it is about
// (when there is one) and one sentence for a person that says what is wrong and what to do.
type Error struct {
	Code     Code   `json:"code"`
	Field    string `json:"field,omitempty"`
	Sentence string `json:"sentence"`
}

// Error returns the sentence.
func (e *Error) Error() string { return e.Sentence }

// Is lets errors.Is match on the code alone: errors.Is(err, &Error{Code: CodeAmbiguous}).
func (e *Error) Is(target error) bool {
	t, ok := target.(*Error)
	return ok && t.Code == e.Code && (t.Field == "" || t.Field == e.Field) && (t.Sentence == "" || t.Sentence == e.Sentence)
}

func fail(code Code, field, format string, args ...any) *Error {
	return &Error{Code: code, Field: field, Sentence: fmt.Sprintf(format, args...)}
}
