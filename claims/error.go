package claims

import (
	"errors"
	"fmt"
)

// Error is what a person gets to read: a code for machines, a sentence that says what is wrong, where, and what
// to do. Every refusal of Service is an *Error; anything else is a fault of ours and is shown as such.
type Error struct {
	Code ErrorCode
	// Says is one or two plain sentences: what is wrong and what to do.
	Says string
	// Where points into what was sent: "entries[3].body.value"; may be empty.
	Where string
	// Err is the cause, for the operator's log; never shown to a person.
	Err error
}

// ErrorCode is the machine-readable kind of an Error. The server maps each to one HTTP status.
type ErrorCode string

// The codes. They are part of the API and never change their meaning.
const (
	Invalid     ErrorCode = "invalid"       // what was sent is not well-formed or not possible
	NotFound    ErrorCode = "not-found"     // there is no such thing, or not for you
	Conflict    ErrorCode = "conflict"      // the same id exists with other content
	Stale       ErrorCode = "stale"         // somebody else was faster: read again, then repeat
	Forbidden   ErrorCode = "forbidden"     // you may not do this
	SignIn      ErrorCode = "sign-in"       // nobody is signed in
	TooLarge    ErrorCode = "too-large"     // over a stated limit
	Unsupported ErrorCode = "unsupported"   // not a kind of file that is accepted
	Missing     ErrorCode = "missing-bytes" // the entry names a photo whose bytes are not here yet
	Erased      ErrorCode = "erased"        // the job was erased: drop what is still here of it
	Busy        ErrorCode = "busy"          // at a limit right now: try again in a moment
)

func (e *Error) Error() string {
	s := string(e.Code) + ": " + e.Says
	if e.Where != "" {
		s = e.Where + ": " + s
	}
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	return s
}

func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an *Error from a sentence.
func Errorf(code ErrorCode, format string, args ...any) *Error {
	return &Error{Code: code, Says: fmt.Sprintf(format, args...)}
}

// At returns a copy of e that points at where.
func (e *Error) At(where string) *Error {
	c := *e
	if c.Where == "" {
		c.Where = where
	} else {
		c.Where = where + "." + c.Where
	}
	return &c
}

// CodeOf returns the code of the *Error in err's chain, or "".
func CodeOf(err error) ErrorCode {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return ""
}
