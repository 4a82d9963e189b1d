// Package analysis answers: what was measured?
//
// It holds the analysis document (forebed.analysis/1): samples of results as
// they were reported, nothing converted, every number with the line it came
// from, and warnings beside them. Readers (package labreport) make it,
// package water understands it, and the command line prints it.
package analysis
