// Package schemas answers: is this document well formed, and if not, where?
//
// It embeds the JSON Schema (2020-12) of every document the tool reads or
// writes, validates YAML or JSON against them, and reports every fault at
// once as Problems: file, line, column, field, what was found, what was
// expected, and one remedy. The shape is checked by the JSON Schema; relations
// between fields are checked by the validator tags of the Go types. The engine
// for browsers leaves the validator out: it is an eighth of the bytes of a
// first visit, and no document that a page takes has such a tag.
//
// It imports nothing of ours.
package schemas
