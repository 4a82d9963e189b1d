//go:build js

// Command wasm is the engine inside a browser: the pages of package web,
// computed in a web worker of the static site instead of by a server. It sets
// forebedAnswer in the global scope of the worker and then waits to be called.
//
// forebedAnswer takes the fields of the form as pairs of name and text (for a
// file: name, Uint8Array and file name) and returns {type, filename, body}, or
// {error}. It runs to the end: who wants to cancel it ends the worker.
package main

import (
	"context"
	"fmt"
	"net/url"
	"syscall/js"

	"forebed/cmd/forebed/internal/web"
)

func main() {
	js.Global().Set("forebedAnswer", js.FuncOf(func(_ js.Value, args []js.Value) any { return answer(args[0]) }))
	select {}
}

// answer never panics: what goes wrong becomes the error of the answer.
func answer(fields js.Value) (out map[string]any) {
	defer func() {
		if p := recover(); p != nil {
			out = map[string]any{"error": fmt.Sprint(p)}
		}
	}()
	r, err := web.Page(context.Background(), formOf(fields))
	if err != nil {
		return map[string]any{"error": err.Error()}
	}
	body := js.Global().Get("Uint8Array").New(len(r.Body))
	js.CopyBytesToJS(body, r.Body)
	return map[string]any{"type": r.Type, "filename": r.Filename, "body": body}
}

func formOf(fields js.Value) *web.Form {
	f := &web.Form{Values: url.Values{}, Files: map[string]web.File{}, Static: true}
	for i := range fields.Length() {
		pair := fields.Index(i)
		if pair.Length() == 3 {
			body := make([]byte, pair.Index(1).Length())
			js.CopyBytesToGo(body, pair.Index(1))
			f.Files[pair.Index(0).String()] = web.File{Name: pair.Index(2).String(), Body: body}
			continue
		}
		f.Values.Add(pair.Index(0).String(), pair.Index(1).String())
	}
	return f
}
