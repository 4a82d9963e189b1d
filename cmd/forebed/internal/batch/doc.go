// Package batch answers: what do many reports come to?
//
// It is a filter over lines. Each line of the input is one item, and each item
// gives one line of the output, in the order of the input:
//
//	lines or files -> items -> answers (on all workers) -> lines, in order
//
// An answer depends on its item and on the settings alone, never on its place
// in the stream, on the other items or on the number of workers. So an input
// that is cut in pieces gives the pieces of the output, whatever engine cuts it.
// An item that cannot be answered gives a line that says why, and the rest go on.
//
// Memory is bounded by the longest line times a few lines a worker. The table
// of a region (Region) is the exception: it keeps a few numbers a sample,
// because it weighs each well as one, however often it was sampled.
package batch
