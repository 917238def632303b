//go:build js && wasm

package main

import (
	"errors"
	"fmt"
	"syscall/js"
)

// In a browser's Worker the checker is the global function kickplateVerify(size, read, went, pictures); read(at, n) returns the
// bytes at once (FileReaderSync), went(at) hears how far it has come. It returns the report as JSON.
func main() {
	js.Global().Set("kickplateVerify", js.FuncOf(func(_ js.Value, args []js.Value) any {
		read, went := args[1], args[2]
		s := &source{size: int64(args[0].Float()), went: func(at int64) { went.Invoke(float64(at)) }}
		s.fetch = func(at int64, n int) (out []byte, err error) {
			defer func() { // what JavaScript throws comes as a panic
				if p := recover(); p != nil {
					err = fmt.Errorf("read the bundle: %v", p)
				}
			}()
			got := read.Invoke(float64(at), n)
			if got.Type() != js.TypeObject {
				return nil, errors.New("read the bundle: no bytes came")
			}
			out = make([]byte, got.Get("length").Int())
			js.CopyBytesToGo(out, got)
			return out, nil
		}
		return string(check(s, args[3].Bool()))
	}))
	select {}
}
