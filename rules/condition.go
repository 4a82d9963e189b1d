package rules

import "math"

// Verdict is the answer of a condition: yes, no, or maybe when what is known
// does not decide it.
type Verdict uint8

// The verdicts, in an order in which "all" is the least and "any" the
// greatest (Kleene's logic of three values).
const (
	No Verdict = iota
	Maybe
	Yes
)

// String returns "no", "maybe" or "yes".
func (v Verdict) String() string { return [...]string{"no", "maybe", "yes"}[v] }

// Condition is a tree of tests, not a program. Exactly one of its fields
// All, Any, Not, Always or Quantity is set; with Quantity exactly one of the
// comparisons.
type Condition struct {
	All      []Condition `json:"all,omitempty"`
	Any      []Condition `json:"any,omitempty"`
	Not      *Condition  `json:"not,omitempty"`
	Always   bool        `json:"always,omitempty"`
	Quantity string      `json:"quantity,omitempty"`
	Above    *Limit      `json:"above,omitempty"`   // more than the limit
	Below    *Limit      `json:"below,omitempty"`   // less than the limit
	Between  *Range      `json:"between,omitempty"` // both ends included
	Unknown  bool        `json:"unknown,omitempty"` // nobody measured or stated it
	Present  *bool       `json:"present,omitempty"` // of a flag: it is so (true), it is not so (false)
}

// Limit is a threshold with its unit, such as 10 "mg/L as N".
type Limit struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

// Range is a window with its unit.
type Range struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	Unit string  `json:"unit"`
}

// node is a condition made ready to be judged: names are indexes, limits are
// in the quantity's own unit.
type node struct {
	op       op
	kids     []node
	quantity Quantity
	low      float64 // limit of opAbove; lower end of opBetween
	high     float64 // limit of opBelow; upper end of opBetween
	leaf     *Condition
	scale    scale // of the unit in which the leaf states its limit
}

type op uint8

const (
	opAll op = iota
	opAny
	opNot
	opAlways
	opAbove
	opBelow
	opBetween
	opUnknown
	opPresent
	opAbsent
)

// judge answers the condition on v. It allocates nothing: the search calls it
// for every water of every train.
func (n *node) judge(v *Values) Verdict {
	switch n.op {
	case opAll:
		least := Yes
		for i := range n.kids {
			if least = min(least, n.kids[i].judge(v)); least == No {
				break
			}
		}
		return least
	case opAny:
		most := No
		for i := range n.kids {
			if most = max(most, n.kids[i].judge(v)); most == Yes {
				break
			}
		}
		return most
	case opNot:
		return Yes - n.kids[0].judge(v)
	case opAlways:
		return Yes
	case opUnknown:
		if v.measured[n.quantity] {
			return No
		}
		return Yes
	}
	x := v.at[n.quantity]
	switch n.op {
	case opAbove, opPresent:
		return decide(x.Low > n.low, x.High <= n.low)
	case opAbsent:
		return decide(x.High <= n.low, x.Low > n.low)
	case opBelow:
		return decide(x.High < n.high, x.Low >= n.high)
	default: // opBetween
		return decide(n.low <= x.Low && x.High <= n.high, x.High < n.low || x.Low > n.high)
	}
}

func decide(surely, surelyNot bool) Verdict {
	switch {
	case surely:
		return Yes
	case surelyNot:
		return No
	}
	return Maybe
}

// Interval holds a quantity between two ends, in the quantity's own unit. The
// ends are equal for a number known exactly and infinite for one not known.
type Interval struct{ Low, High float64 }

// unknown is the interval of what nobody knows.
var unknown = Interval{math.Inf(-1), math.Inf(1)}

// Known reports whether anything is known about the quantity.
func (i Interval) Known() bool { return !math.IsInf(i.Low, -1) || !math.IsInf(i.High, 1) }
