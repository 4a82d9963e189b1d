package rules

import (
	_ "embed" // for the packs
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"forebed/chem/process"
	"forebed/schemas"
)

// PackVersion is the version field of a rule pack.
const PackVersion = "forebed.rules/1"

// Scope names where a rule is judged: the feed of the vessel, the feed of a
// stage of a kind, the site, or the report.
type Scope string

// The scopes. Stage scopes are made by StageScope.
const (
	AtVessel Scope = "vessel"
	AtSite   Scope = "site"
	AtReport Scope = "report"
	AtStage  Scope = "stage" // every kind of stage
)

// StageScope is the scope of a kind of stage, judged on the water that enters
// the stage.
func StageScope(k process.Kind) Scope { return Scope("stage:" + string(k)) }

// covers reports whether a rule for scope s is judged at a place of scope at.
func (s Scope) covers(at Scope) bool {
	return s == at || s == AtStage && strings.HasPrefix(string(at), "stage:")
}

// Level is the weight of a rule.
type Level string

// The levels. A train that breaks a must is dropped; a should is reported and
// counts against it; a caution warns a person; advice is a better way; an ask
// names what to test or tell.
const (
	LevelMust    Level = "must"
	LevelShould  Level = "should"
	LevelCaution Level = "caution"
	LevelAdvice  Level = "advice"
	LevelAsk     Level = "ask"
)

// Strength is how strong a caution is.
type Strength string

// The strengths of cautions.
const (
	StrengthStop Strength = "stop" // do not go on before this is settled
	StrengthCare Strength = "care"
	StrengthNote Strength = "note"
)

// Rule is one rule of a pack.
type Rule struct {
	ID        string    `json:"id"`
	Title     string    `json:"title"`
	AppliesTo Scope     `json:"applies_to"`
	Level     Level     `json:"level"`
	Strength  Strength  `json:"strength,omitempty"` // of a caution
	Topic     string    `json:"topic"`
	Safety    bool      `json:"safety,omitempty"` // a safety caution cannot be silenced
	When      Condition `json:"when"`
	Because   string    `json:"because"`
	Remedy    string    `json:"remedy"`
	Source    string    `json:"source"`           // author, agency or document
	Status    string    `json:"status,omitempty"` // how well the source is known
	Ledger    []string  `json:"ledger,omitempty"` // rows of the reference ledgers behind it
	Settle    []string  `json:"settle,omitempty"` // of an ask: analytes to test, when the condition does not name them

	pack string
	node node
}

// Pack names the pack that the rule comes from.
func (r *Rule) Pack() string { return r.pack }

// Pack is one document of rules.
type Pack struct {
	Version string    `json:"version"`
	Name    string    `json:"name"`
	Title   string    `json:"title"`
	Rules   []Rule    `json:"rules,omitempty"`
	Tighten []Tighten `json:"tighten,omitempty"`
	Silence []Silence `json:"silence,omitempty"`

	tree *schemas.Tree // for the places of faults that only show beside other packs
}

// Tighten makes a rule of another pack stricter: its limit of one quantity, its
// level, or its strength.
type Tighten struct {
	ID       string   `json:"id"`
	Quantity string   `json:"quantity,omitempty"`
	Limit    *Limit   `json:"limit,omitempty"`
	Level    Level    `json:"level,omitempty"`
	Strength Strength `json:"strength,omitempty"`
	Because  string   `json:"because"`
	Source   string   `json:"source"`
}

// Silence takes a rule of another pack out.
type Silence struct {
	ID      string `json:"id"`
	Because string `json:"because"`
}

// LoadPack reads a pack, YAML or JSON, and checks it by itself: form, units,
// quantities, and what each level asks for. file is what the user called the
// input. The error is a schemas.Problems with every fault and its place.
func LoadPack(file string, data []byte) (*Pack, error) {
	p := &Pack{}
	tree, err := schemas.DecodeTree("rules", file, data, p)
	if err != nil {
		return nil, err
	}
	p.tree = tree
	c := &compiler{tree: tree}
	seen := map[string]bool{}
	for i := range p.Rules {
		r := &p.Rules[i]
		at := fmt.Sprintf("/rules/%d", i)
		r.pack = p.Name
		r.node = c.condition(&r.When, at+"/when")
		c.rule(r, at)
		if seen[r.ID] {
			c.refuse(at+"/id", fmt.Sprintf("the id %q a second time", r.ID), "an id of its own for each rule", "rename one of the two rules")
		}
		seen[r.ID] = true
	}
	for i := range p.Tighten {
		c.tighten(&p.Tighten[i], fmt.Sprintf("/tighten/%d", i))
	}
	if len(p.Rules)+len(p.Tighten)+len(p.Silence) == 0 {
		c.refuse("", "a pack without rules", "rules, tighten or silence", "add a rule")
	}
	return p, c.problems.Sorted().Err()
}

// rule checks what the schema cannot: which fields belong together.
func (c *compiler) rule(r *Rule, at string) {
	blank := func(field, text string) {
		if strings.TrimSpace(text) == "" {
			c.refuse(at+"/"+field, "only blanks", "text", "say it in plain words")
		}
	}
	blank("because", r.Because)
	blank("remedy", r.Remedy)
	blank("source", r.Source)
	switch {
	case r.Level == LevelCaution && r.Strength == "":
		c.refuse(at, "a caution without a strength", "strength: stop, care or note", "add the field strength")
	case r.Level != LevelCaution && r.Strength != "":
		c.refuse(at+"/strength", fmt.Sprintf("a strength beside the level %q", r.Level), "strength on cautions only", "delete the field strength")
	case r.Level != LevelCaution && r.Safety:
		c.refuse(at+"/safety", fmt.Sprintf("safety beside the level %q", r.Level), "safety on cautions only", "delete the field safety, or make the rule a caution")
	}
	if r.Level != LevelAsk && len(r.Settle) > 0 {
		c.refuse(at+"/settle", fmt.Sprintf("tests to make beside the level %q", r.Level), "settle on asks only", "delete the field settle, or make the rule an ask")
	}
}

func (c *compiler) tighten(t *Tighten, at string) {
	switch {
	case t.Limit == nil && t.Level == "" && t.Strength == "":
		c.refuse(at, "nothing that changes", "a limit, a level or a strength", "add what is to be stricter")
	case t.Limit != nil && t.Quantity == "":
		c.refuse(at, "a limit without its quantity", "the field quantity", "name the quantity whose limit changes")
	case t.Limit == nil && t.Quantity != "":
		c.refuse(at+"/quantity", "a quantity without a limit", "the field limit", "add the new limit")
	case t.Limit != nil:
		q, ok := byName[t.Quantity]
		if !ok {
			c.refuse(at+"/quantity", fmt.Sprintf("the quantity %q", t.Quantity), "a quantity that is known here", nearest(t.Quantity))
			return
		}
		c.limit(&rows[q], *t.Limit, at+"/limit")
	}
}

// ready holds the packs of packs/*.yaml, one after the other, as JSON: reading
// 250 rules from YAML would take longer than the rest of a plan. A test fails
// when it lags behind the YAML.
//
//go:generate go test -run TestReadyPacks -update
//go:embed packs/ready.json
var ready []byte

// Builtin returns the packs that come with the program, in order of name.
func Builtin() []*Pack {
	var packs []*Pack
	if err := json.Unmarshal(ready, &packs); err != nil {
		panic(err) // a slip in our own packs; every test of this package meets it
	}
	for _, p := range packs {
		c := &compiler{}
		for i := range p.Rules {
			r := &p.Rules[i]
			r.pack = p.Name
			r.node = c.condition(&r.When, "")
		}
		if err := c.problems.Err(); err != nil {
			panic(err)
		}
	}
	return packs
}

// Merge puts packs together: rules are added in order, then each pack may
// tighten or silence rules of packs before it. The error is a
// schemas.Problems with every fault and its place.
func Merge(packs ...*Pack) (*Set, error) {
	s := &Set{}
	owner := map[string]string{}
	var problems schemas.Problems
	for _, p := range packs {
		c := &compiler{tree: p.tree}
		for i := range p.Rules {
			r := p.Rules[i]
			if of, taken := owner[r.ID]; taken {
				c.refuse(fmt.Sprintf("/rules/%d/id", i), fmt.Sprintf("the id %q, which the pack %q has", r.ID, of), "an id of its own for each rule", "rename the rule, or use tighten to make the other one stricter")
				continue
			}
			owner[r.ID] = p.Name
			s.rules = append(s.rules, &r)
		}
		for i := range p.Tighten {
			s.tighten(c, p.Name, &p.Tighten[i], fmt.Sprintf("/tighten/%d", i))
		}
		for i := range p.Silence {
			s.silence(c, &p.Silence[i], fmt.Sprintf("/silence/%d", i))
		}
		problems = append(problems, c.problems...)
	}
	return s, problems.Sorted().Err()
}

// find returns the index of the rule that a pack wants to change.
func (s *Set) find(c *compiler, id, pointer string) int {
	i := slices.IndexFunc(s.rules, func(r *Rule) bool { return r.ID == id })
	if i < 0 {
		c.refuse(pointer+"/id", fmt.Sprintf("the rule %q, which no pack before this one has", id), "the id of a rule", "look the id up with `forebed rules list`")
	}
	return i
}

func (s *Set) silence(c *compiler, x *Silence, at string) {
	i := s.find(c, x.ID, at)
	if i < 0 {
		return
	}
	if s.rules[i].Safety {
		c.refuse(at+"/id", fmt.Sprintf("the safety caution %q", x.ID), "a rule that is no safety caution", "delete this entry: a caution that protects people cannot be silenced")
		return
	}
	s.rules = slices.Delete(s.rules, i, i+1)
}

// weight orders levels and strengths from mild to strict.
var weight = map[string]int{
	string(LevelAdvice): 1, string(LevelShould): 2, string(LevelMust): 3,
	string(StrengthNote): 1, string(StrengthCare): 2, string(StrengthStop): 3,
}

func (s *Set) tighten(c *compiler, pack string, x *Tighten, at string) {
	i := s.find(c, x.ID, at)
	if i < 0 {
		return
	}
	r := *s.rules[i] // the rule of the other pack stays as it is
	if x.Level != "" {
		if weight[string(r.Level)] == 0 || weight[string(x.Level)] <= weight[string(r.Level)] {
			c.refuse(at+"/level", fmt.Sprintf("the level %q for a rule of level %q", x.Level, r.Level), "a heavier level: advice, then should, then must", "delete this entry, or use silence")
		}
		r.Level = x.Level
	}
	if x.Strength != "" {
		if r.Level != LevelCaution || weight[string(x.Strength)] <= weight[string(r.Strength)] {
			c.refuse(at+"/strength", fmt.Sprintf("the strength %q for a rule of strength %q", x.Strength, r.Strength), "a stronger word for a caution: note, then care, then stop", "delete this entry")
		}
		r.Strength = x.Strength
	}
	if q, ok := byName[x.Quantity]; ok && x.Limit != nil {
		if sc, err := rows[q].unitScale(x.Limit.Unit); err == nil {
			var changed int
			when := r.When.tightened(q, x.Limit, sc, true, &changed)
			switch {
			case changed == 0:
				c.refuse(at+"/quantity", fmt.Sprintf("%s, which the rule %q compares with no single limit", x.Quantity, x.ID), "a quantity with above or below in that rule", "look at the rule with `forebed rules explain "+x.ID+"`")
			case changed < 0:
				c.refuse(at+"/limit", fmt.Sprintf("%s %s, which makes the rule milder", figure(x.Limit.Value), x.Limit.Unit), "a limit on the strict side of the rule's own", "give a stricter number, or add a rule of your own")
			default:
				r.When = when
				fresh := &compiler{tree: c.tree}
				r.node = fresh.condition(&r.When, at)
			}
		}
	}
	r.Because += " " + x.Because
	r.Source += "; tightened by the pack " + pack + ": " + x.Source
	s.rules[i] = &r
}

// tightened returns the condition with a new limit for one quantity. It counts
// the leaves it changed, and gives -1 when one would hold in fewer cases. Under
// a not the strict side is the other one.
func (w Condition) tightened(q Quantity, l *Limit, sc scale, upright bool, changed *int) Condition {
	each := func(list []Condition) []Condition {
		out := make([]Condition, len(list))
		for i := range list {
			out[i] = list[i].tightened(q, l, sc, upright, changed)
		}
		return out
	}
	switch {
	case w.All != nil:
		w.All = each(w.All)
	case w.Any != nil:
		w.Any = each(w.Any)
	case w.Not != nil:
		inner := w.Not.tightened(q, l, sc, !upright, changed)
		w.Not = &inner
	case byName[w.Quantity] == q && w.Quantity != "" && (w.Above != nil || w.Below != nil):
		old, above := w.Above, w.Above != nil
		if !above {
			old = w.Below
		}
		was, err := rows[q].unitScale(old.Unit)
		if err != nil {
			return w // cannot be: the rule was compiled
		}
		before, after := was.own(old.Value), sc.own(l.Value)
		if wider := above && after < before || !above && after > before; wider != upright || after == before {
			*changed = -1
			return w
		}
		if *changed >= 0 {
			*changed++
		}
		fresh := *l
		if above {
			w.Above = &fresh
		} else {
			w.Below = &fresh
		}
	}
	return w
}
