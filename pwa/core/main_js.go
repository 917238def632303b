//go:build js && wasm

package main

import (
	"syscall/js"
	_ "time/tzdata" // a browser has no zone files, and the date at the site decides warranty questions
)

// In a browser's Worker the core is the global function kickplateCore(question, json, pixels?).
func main() {
	var c Core
	js.Global().Set("kickplateCore", js.FuncOf(func(_ js.Value, args []js.Value) any {
		var pixels []uint8
		if len(args) > 2 && args[2].Type() == js.TypeObject {
			pixels = make([]uint8, args[2].Get("length").Int())
			js.CopyBytesToGo(pixels, args[2])
		}
		return string(c.Answer(args[0].String(), []byte(args[1].String()), pixels))
	}))
	select {}
}
