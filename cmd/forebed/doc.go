// Command forebed reads a well-water analysis and gives a staged pretreatment
// plan for a mixed-bed deionization vessel, with the resin life, cost and
// cautions of every choice.
//
// One file a command: flags, one call below, one renderer. Results go to
// standard output and messages to standard error; on an error nothing is
// written to standard output (a batch alone goes on: it answers a line that is
// refused with an error of its own, and ends with code 3). The exit codes are few:
//
//	0  done
//	1  internal failure: our fault, not the input's
//	2  usage: a flag or an argument is wrong, whatever the documents hold; the message names it
//	3  input refused (a report, rig, pack, plan or log): the message says where, what was found, what was expected, and one remedy
//	4  the plan has a stop caution, and --strict was given
//	130 broken off with Ctrl-C
package main
