package render

import (
	"encoding/json"
	"io"
)

// JSON writes a document, indented, with a line end.
func JSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
