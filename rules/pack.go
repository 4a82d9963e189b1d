package rules

import (
	"forebed/chem/process"
)

// Scope names where a rule is judged: the feed of the vessel, the feed of a
// stage of a kind, the site, or the report.
type Scope string

// The scopes. Stage scopes are made by StageScope.
const (
	AtVessel Scope = "vessel"
	AtSite   Scope = "site"
	AtReport Scope = "report"
)

// StageScope is the scope of a kind of stage, judged on the water that enters
// the stage.
func StageScope(k process.Kind) Scope { return Scope("stage:" + string(k)) }

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
