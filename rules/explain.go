package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/analyte"
)

// figure prints a number for a person: three figures, no exponent where one
// can be avoided.
func figure(x float64) string {
	if a := math.Abs(x); a >= 1000 {
		digits := math.Pow(10, math.Floor(math.Log10(a))-2)
		return strconv.FormatFloat(math.Round(x/digits)*digits, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', 3, 64)
}

// withUnit prints a number of this scale; pH units and plain numbers go
// without.
func (s scale) withUnit(x float64) string { return figure(s.in(x)) + s.suffix() }

func (s scale) suffix() string {
	switch s.unit {
	case "pH", "1":
		return ""
	case "%":
		return " %"
	}
	return " " + s.unit
}

// sentence prints one leaf with the value put in.
func (n *node) sentence(f *Facts) string {
	r, x := &rows[n.quantity], f.at[n.quantity]
	verdict := n.judge(&f.Values)
	switch n.op {
	case opUnknown:
		if verdict == Yes {
			return r.title + " was not measured"
		}
		return r.title + " is known"
	case opPresent, opAbsent:
		if r.measure == count {
			return r.found(x)
		}
		switch {
		case x.Low > n.low:
			return r.title
		case x.High <= n.low:
			return r.absent
		}
		return "not known whether " + r.title
	}
	value := n.value(f)
	if !x.Known() {
		return fmt.Sprintf("%s is not known; the limit is %s", r.title, n.limits())
	}
	phrase := map[op][3]string{
		opAbove:   {"is not above", "may be above", "is above"},
		opBelow:   {"is not below", "may be below", "is below"},
		opBetween: {"is outside", "may be within", "is within"},
	}[n.op][verdict]
	return fmt.Sprintf("%s %s %s %s", r.title, value, phrase, n.limits())
}

// found prints a count of germs.
func (r *row) found(x Interval) string {
	switch {
	case x.Low > 0:
		return r.title + ": found"
	case x.High <= 0:
		return r.title + ": none found"
	}
	return r.title + ": not known whether any are there"
}

// value prints what is known of the leaf's quantity, in the unit of its limit.
func (n *node) value(f *Facts) string {
	x, text := f.at[n.quantity], f.text[n.quantity]
	var s string
	switch {
	case x.Low == x.High:
		s = n.scale.withUnit(x.Low)
	case math.IsInf(x.High, 1):
		s = "at least " + n.scale.withUnit(x.Low)
	case math.IsInf(x.Low, -1):
		s = "at most " + n.scale.withUnit(x.High)
	default:
		s = figure(n.scale.in(x.Low)) + " to " + n.scale.withUnit(x.High)
	}
	switch {
	case text != "" && text != s:
		s += " (reported as " + text + ")"
	case text == "" && !f.measured[n.quantity]:
		s += " (estimated)"
	}
	return s
}

// limits prints the limit of the leaf as the pack states it.
func (n *node) limits() string {
	switch n.op {
	case opAbove:
		return n.scale.withUnit(n.low)
	case opBelow:
		return n.scale.withUnit(n.high)
	}
	return figure(n.scale.in(n.low)) + " to " + n.scale.withUnit(n.high)
}

// reasons collects the leaves that make the verdict of a node what it is.
func (n *node) reasons(v *Values, add func(*node)) {
	verdict := n.judge(v)
	switch n.op {
	case opAlways:
		return
	case opAll, opAny, opNot:
	default:
		add(n)
		return
	}
	// Where one of several may hold, those that nothing is known of say nothing.
	informed := false
	for i := range n.kids {
		informed = informed || n.op == opAny && verdict == Maybe && n.kids[i].judge(v) == Maybe && n.kids[i].informed(v)
	}
	for i := range n.kids {
		kid := &n.kids[i]
		if n.op == opNot || kid.judge(v) == verdict && (!informed || kid.informed(v)) {
			kid.reasons(v, add)
		}
	}
}

// informed reports whether anything is known of what the condition tests.
func (n *node) informed(v *Values) bool {
	if n.leaf != nil {
		return v.at[n.quantity].Known()
	}
	for i := range n.kids {
		if n.kids[i].informed(v) {
			return true
		}
	}
	return false
}

// working prints the condition with the values put in, all of it and only what
// compares numbers, and names the tests that would settle what is doubtful: those
// that nobody made, if the condition names such.
func (f *Facts) working(n *node) (all, numbers string, settles []analyte.ID) {
	var parts, compared []string
	var missing []analyte.ID
	n.reasons(&f.Values, func(leaf *node) {
		if s := leaf.sentence(f); !slices.Contains(parts, s) {
			parts = append(parts, s)
			if m := rows[leaf.quantity].measure; m != yesNo && m != count {
				compared = append(compared, s)
			}
		}
		if leaf.judge(&f.Values) == Maybe || leaf.op == opUnknown || leaf.varies(f) {
			for _, id := range rows[leaf.quantity].tests() {
				if !slices.Contains(settles, id) {
					settles = append(settles, id)
				}
				if leaf.op == opUnknown && !slices.Contains(missing, id) {
					missing = append(missing, id)
				}
			}
		}
	})
	if missing != nil {
		settles = missing
	}
	return strings.Join(parts, "; "), strings.Join(compared, "; "), settles
}

// Sentence says the finding in plain words: what, why, and what it rests on
// here.
func (x *Finding) Sentence() string {
	s := x.Rule.Title + ". " + x.Rule.Because
	if x.Verdict == Maybe {
		s = "May apply: " + s
	}
	here := x.Working
	if x.Rule.Strength == StrengthNote {
		here = x.numbers // a note speaks of rigs in general: no need to say that this one is such a rig
	}
	if here != "" {
		s += " Here: " + here + "."
	}
	return s
}

// tests names the analytes that settle a quantity.
func (r *row) tests() []analyte.ID {
	if r.settle != nil {
		return r.settle
	}
	return r.read
}

// String prints the condition as a person reads it, without values.
func (w *Condition) String() string {
	list := func(ws []Condition, between string) string {
		var parts []string
		for i := range ws {
			s := ws[i].String()
			if len(ws) > 1 && (ws[i].All != nil || ws[i].Any != nil) {
				s = "(" + s + ")"
			}
			parts = append(parts, s)
		}
		return strings.Join(parts, between)
	}
	limit := func(l *Limit) string { return figure(l.Value) + scale{unit: l.Unit}.suffix() }
	switch {
	case w.All != nil:
		return list(w.All, " and ")
	case w.Any != nil:
		return list(w.Any, " or ")
	case w.Not != nil:
		return "not (" + w.Not.String() + ")"
	case w.Always:
		return "always"
	case w.Above != nil:
		return w.Quantity + " above " + limit(w.Above)
	case w.Below != nil:
		return w.Quantity + " below " + limit(w.Below)
	case w.Between != nil:
		return w.Quantity + " between " + figure(w.Between.Low) + " and " + limit(&Limit{w.Between.High, w.Between.Unit})
	case w.Unknown:
		return w.Quantity + " not measured"
	case w.Present != nil && *w.Present:
		return w.Quantity
	}
	return "no " + w.Quantity
}

// Explain prints a rule: what it says, when, why, what to do, and where it
// comes from. With facts it shows the condition with their values put in.
func (r *Rule) Explain(f *Facts) string {
	var b strings.Builder
	line := func(name, text string) {
		if text != "" {
			fmt.Fprintf(&b, "%-9s %s\n", name, text)
		}
	}
	fmt.Fprintf(&b, "%s\n", r.Title)
	line("rule", r.ID+" (pack "+r.pack+")")
	level := string(r.Level)
	if r.Strength != "" {
		level += ", " + string(r.Strength)
	}
	if r.Safety {
		level += ", safety: cannot be silenced"
	}
	line("level", level)
	line("topic", r.Topic)
	line("judged", "at the "+strings.Replace(string(r.AppliesTo), "stage:", "stage ", 1))
	line("when", r.When.String())
	line("because", r.Because)
	line("remedy", r.Remedy)
	line("source", r.Citation())
	if f != nil {
		x := f.judge(r)
		answer := map[Verdict]string{Yes: "holds", Maybe: "may hold", No: "does not hold"}[x.Verdict]
		if x.Verdict == Maybe && f.baseless(r) {
			answer = "is not given, for want of anything known"
		}
		if x.Working != "" {
			answer += ": " + x.Working
		}
		line("here", answer)
		if len(x.Settles) > 0 && x.Verdict == Maybe {
			line("settle", "test "+joinIDs(x.Settles))
		}
	}
	return b.String()
}

// Citation prints the source with its status and its rows in the ledgers.
func (r *Rule) Citation() string {
	s := r.Source
	switch r.Status {
	case "from memory":
		s += " (from memory, not seen again)"
	case "computed":
		s += " (computed here)"
	}
	if len(r.Ledger) > 0 {
		s += " [ledger " + strings.Join(r.Ledger, ", ") + "]"
	}
	return s
}

func joinIDs(ids []analyte.ID) string {
	var names []string
	for _, id := range ids {
		name := strings.ReplaceAll(string(id), "_", " ")
		if a, ok := analyte.Lookup(id); ok {
			name = a.Name
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}
