// Package render turns a reading, a composition or a plan into text,
// Markdown, HTML or JSON: one value in, bytes out.
//
// What is said is composed once, as a list of blocks (plan.go, reading.go,
// water.go ...); how it looks is one printer a format (text.go, markdown.go,
// html.go). So no format can say what another leaves out. Every figure is
// formatted in number.go, so that no output shows more digits than the
// computation earns.
package render
