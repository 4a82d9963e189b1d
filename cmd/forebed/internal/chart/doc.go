// Package chart draws the pictures of a plan as SVG: curves, ion bars, ranges
// and the train of stages.
//
// Every picture is a pure function from numbers to markup. It carries a title
// and a description for screen readers, labels its lines directly, uses system
// fonts and round ticks, and tells series apart by dash or pattern as well as
// by colour. Colours are presentation attributes, so a strict content
// security policy that forbids inline style lets the pictures through. All
// text is escaped here.
package chart
