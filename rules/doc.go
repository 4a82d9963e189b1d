// Package rules answers: what should stand before the bed, and why?
//
// Rules are data: packs/*.yaml, each rule with a condition, a reason, a
// remedy and a source. The engine judges a rule on Facts, in three values: a
// condition holds, does not hold, or may hold because a quantity is unknown or
// lies in an interval that straddles a limit; then it names the test that
// settles it. Over many equally likely waters (draws) it gives the share in
// which the condition holds: above one half it holds, below one tenth it does
// not, between it is a maybe.
package rules
