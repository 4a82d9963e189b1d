package rules

import (
	"fmt"
	"math"
	"strings"

	"forebed/schemas"
)

// compiler turns the conditions of a pack into nodes and collects the faults.
type compiler struct {
	tree     *schemas.Tree // where each field stands; nil for our own packs
	problems schemas.Problems
}

func (c *compiler) refuse(pointer, found, want, remedy string) {
	p := schemas.Problem{Field: pointer, Found: found, Want: want, Remedy: remedy, Err: schemas.ErrInvalid}
	if c.tree != nil {
		p.File = c.tree.File
		p.Line, p.Column = c.tree.Place(pointer)
	}
	c.problems = append(c.problems, p)
}

// condition compiles one condition that stands at a JSON pointer.
func (c *compiler) condition(w *Condition, pointer string) node {
	var named []string
	for _, x := range []struct {
		name string
		set  bool
	}{{"all", w.All != nil}, {"any", w.Any != nil}, {"not", w.Not != nil}, {"always", w.Always}, {"quantity", w.Quantity != ""}} {
		if x.set {
			named = append(named, x.name)
		}
	}
	if len(named) != 1 {
		found := "none of them"
		if len(named) > 1 {
			found = strings.Join(named, " and ") + " side by side"
		}
		c.refuse(pointer, found, "exactly one of all, any, not, always and quantity", "put one group inside the other, or name a quantity")
		return node{}
	}
	if w.Quantity != "" {
		return c.leaf(w, pointer)
	}
	if w.Above != nil || w.Below != nil || w.Between != nil || w.Unknown || w.Present != nil {
		c.refuse(pointer, "a comparison without a quantity", "a quantity beside it", "add the quantity, or move the comparison to its leaf")
		return node{}
	}
	switch named[0] {
	case "all":
		return node{op: opAll, kids: c.list(w.All, pointer+"/all")}
	case "any":
		return node{op: opAny, kids: c.list(w.Any, pointer+"/any")}
	case "not":
		return node{op: opNot, kids: []node{c.condition(w.Not, pointer+"/not")}}
	}
	return node{op: opAlways}
}

func (c *compiler) list(ws []Condition, pointer string) []node {
	kids := make([]node, len(ws))
	for i := range ws {
		kids[i] = c.condition(&ws[i], fmt.Sprintf("%s/%d", pointer, i))
	}
	return kids
}

// leaf compiles a test of one quantity.
func (c *compiler) leaf(w *Condition, pointer string) node {
	q, ok := byName[w.Quantity]
	if !ok {
		c.refuse(pointer+"/quantity", fmt.Sprintf("the quantity %q", w.Quantity), "a quantity that is known here", nearest(w.Quantity))
		return node{}
	}
	r := &rows[q]
	n := node{quantity: q, leaf: w}
	tests := 0
	if w.Above != nil {
		tests++
		n.op = opAbove
		n.low, n.scale = c.limit(r, *w.Above, pointer+"/above")
	}
	if w.Below != nil {
		tests++
		n.op = opBelow
		n.high, n.scale = c.limit(r, *w.Below, pointer+"/below")
	}
	if b := w.Between; b != nil {
		tests++
		n.op = opBetween
		n.low, n.scale = c.limit(r, Limit{b.Low, b.Unit}, pointer+"/between")
		n.high = n.scale.own(b.High)
		if b.Low > b.High {
			c.refuse(pointer+"/between", fmt.Sprintf("low %s above high %s", figure(b.Low), figure(b.High)), "low to be at most high", "exchange the two numbers")
		}
	}
	if w.Unknown {
		tests++
		n.op = opUnknown
	}
	if w.Present != nil {
		tests++
		n.op = opAbsent
		if *w.Present {
			n.op = opPresent
		}
		if r.measure != yesNo && r.measure != count {
			c.refuse(pointer+"/present", fmt.Sprintf("present for %s, which is a number", r.id), "above, below or between", "compare it with a limit in "+r.accepted())
		}
	}
	if tests != 1 {
		found := "no comparison"
		if tests > 1 {
			found = fmt.Sprintf("%d comparisons in one leaf", tests)
		}
		c.refuse(pointer, found, "exactly one of above, below, between, unknown and present", "say what to compare with; several comparisons need a leaf each, inside all or any")
	}
	return n
}

// limit turns a limit into the quantity's own unit.
func (c *compiler) limit(r *row, l Limit, pointer string) (float64, scale) {
	s, err := r.unitScale(l.Unit)
	if err != nil {
		want, remedy := "a unit of that quantity", "write the limit in "+r.accepted()
		if r.measure == yesNo {
			want, remedy = "no limit: it is a yes or a no", "write "+r.accepted()+" instead"
		}
		c.refuse(pointer+"/unit", fmt.Sprintf("the unit %q for %s", l.Unit, r.id), want, remedy)
		return 0, scale{l.Unit, 1, 0}
	}
	x := s.own(l.Value)
	if x < 0 && !r.mayBeNegative() || math.IsInf(x, 0) {
		c.refuse(pointer+"/value", figure(l.Value), "a number that this quantity can have", "correct the number or its unit")
	}
	return x, s
}

// mayBeNegative reports whether the quantity can lie below zero.
func (r *row) mayBeNegative() bool {
	return r.measure == warmth || r.measure == potential || r.measure == plain
}

// nearest names the known quantities most like a misspelt one.
func nearest(name string) string {
	best, least := "", math.MaxInt
	for q := range rows {
		if d := distance(name, rows[q].id); d < least {
			best, least = rows[q].id, d
		}
	}
	if least <= 1+len(name)/2 {
		return fmt.Sprintf("write %q, or another quantity that `forebed rules quantities` lists", best)
	}
	return "use one of the quantities that `forebed rules quantities` lists"
}

// distance is the edit distance between two words (insert, delete, replace).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		before := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := before
			if a[i] != b[j] {
				cost++
			}
			before = row[j+1]
			row[j+1] = min(cost, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}
