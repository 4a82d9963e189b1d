// Package schemas answers: is this document well formed, and if not, where?
//
// It embeds the JSON Schema (2020-12) of every document the tool reads or
// writes, validates YAML or JSON against them, and reports every fault at
// once as Problems: file, line, column, field, what was found, what was
// expected, and one remedy. Relations between fields that a schema cannot state
// are checked by the packages whose documents they are.
//
// It imports nothing of ours.
package schemas
