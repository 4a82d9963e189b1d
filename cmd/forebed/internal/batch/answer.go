package batch

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/labreport"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
	"forebed/schemas"
)

// Want is what is made of every item.
type Want string

// What can be wanted. Table rows and the table of a region come from plans.
const (
	WantPlan        Want = "plan"
	WantComposition Want = "composition"
	WantReading     Want = "reading"
	WantCSV         Want = "csv"
	WantRegion      Want = "region"
)

// Wants lists what can be wanted, the default first.
func Wants() []string {
	return []string{string(WantPlan), string(WantComposition), string(WantReading), string(WantCSV), string(WantRegion)}
}

// Settings are what all items share. Request holds the rig, the rules, the
// draws, the seed and the corrections that every item gets before its own.
type Settings struct {
	Request engine.Request
	Want    Want
}

// Answer is what an item came to.
type Answer struct {
	Line     []byte // with its line end; nil for WantRegion
	Code     string // why there is no answer; empty if there is one
	Message  string // the same for people
	Internal bool   // the fault is ours, not the item's
	Stop     bool   // the plan has a stop caution
	Finding  Finding
}

// row is an answer as a line of JSON. What can hurt stands first.
type row struct {
	ID          json.RawMessage    `json:"id"`
	Stop        []stop             `json:"stop,omitempty"`
	Plan        *rules.Plan        `json:"plan,omitempty"`
	Composition *water.Document    `json:"composition,omitempty"`
	Reading     *analysis.Document `json:"reading,omitempty"`
	Warnings    []analysis.Warning `json:"warnings,omitempty"` // beside a plan or composition; a reading holds its own
	Settled     []string           `json:"settled,omitempty"`
	Error       *failure           `json:"error,omitempty"`
}

type stop struct {
	Topic string `json:"topic"`
	Text  string `json:"text"`
}

type failure struct {
	Code     string    `json:"code"`
	Message  string    `json:"message"`
	Problems []problem `json:"problems,omitempty"`
}

type problem struct {
	Line     int    `json:"line,omitempty"`
	Column   int    `json:"column,omitempty"`
	Field    string `json:"field,omitempty"`
	Found    string `json:"found"`
	Expected string `json:"expected,omitempty"`
	Remedy   string `json:"remedy,omitempty"`
}

// Answer answers one item. A panic is answered as an internal failure, so that
// one report cannot end a run over many.
func (s *Settings) Answer(ctx context.Context, item Item) (a Answer) {
	defer func() {
		if p := recover(); p != nil {
			a = s.refuse(item, fmt.Errorf("%w: %v\n%s", errInternal, p, debug.Stack()))
		}
	}()
	if item.Fault != nil {
		return s.refuse(item, item.Fault)
	}
	r := s.Request
	r.Input, r.Reading, r.File, r.Workers = item.Input, item.Reading, cmp.Or(item.File, name(item.ID)), 1
	r.Pads = cmp.Or(item.Pads, r.Pads)
	r.Edits.Sample = cmp.Or(item.Edits.Sample, r.Edits.Sample)
	r.Edits.Set = append(r.Edits.Set[:len(r.Edits.Set):len(r.Edits.Set)], item.Edits.Set...)
	r.Edits.Basis = append(r.Edits.Basis[:len(r.Edits.Basis):len(r.Edits.Basis)], item.Edits.Basis...)
	r.Edits.Drop = append(r.Edits.Drop[:len(r.Edits.Drop):len(r.Edits.Drop)], item.Edits.Drop...)
	result, err := s.work(ctx, &r)
	if err != nil {
		return s.refuse(item, err)
	}
	if item.ID == nil && len(result.Reading.Document.Samples) == 1 {
		if label := result.Reading.Document.Samples[0].Label; label != "" {
			item.ID = quote(label)
		}
	}
	return s.answer(item, result)
}

// work does as much of the job as is wanted.
func (s *Settings) work(ctx context.Context, r *engine.Request) (*engine.Result, error) {
	switch s.Want {
	case WantReading:
		reading, err := r.Read()
		return &engine.Result{Reading: reading}, err
	case WantComposition:
		return r.Composition()
	}
	return r.Plan(ctx)
}

func (s *Settings) answer(item Item, r *engine.Result) Answer {
	out := row{ID: orNull(item.ID)}
	a := Answer{}
	if r.Plan != nil {
		for _, c := range r.Plan.Cautions {
			if c.Level == "stop" {
				out.Stop = append(out.Stop, stop{c.Topic, strings.TrimSpace(c.Text + " " + c.Remedy)})
			}
		}
		a.Stop = len(out.Stop) > 0
	}
	switch s.Want {
	case WantRegion:
		a.Finding = findingOf(item.Region, r)
		return a
	case WantCSV:
		a.Line = flat(flatten(item.ID, r))
		return a
	case WantReading:
		out.Reading = &r.Reading.Document
	case WantComposition:
		doc := water.Encode(r.Water)
		out.Composition, out.Warnings = &doc, render.Warnings(r.Reading.Document)
	default:
		out.Plan, out.Warnings, out.Settled = render.Shown(r.Plan, false), render.Warnings(r.Reading.Document), r.Settled
	}
	line, err := encode(out)
	if err != nil {
		return s.refuse(item, fmt.Errorf("%w: %w", errInternal, err))
	}
	a.Line = line
	return a
}

// refuse answers an item that has no answer.
func (s *Settings) refuse(item Item, err error) Answer {
	f := failure{Code: Code(err), Message: err.Error()}
	a := Answer{Code: f.Code, Message: f.Message, Internal: f.Code == codeInternal, Finding: Finding{Region: item.Region, Refused: true}}
	var ps schemas.Problems
	if errors.As(err, &ps) {
		for _, p := range ps.Sorted() {
			f.Problems = append(f.Problems, problem{p.Line, p.Column, p.Field, p.Found, p.Want, p.Remedy})
		}
	}
	switch s.Want {
	case WantRegion:
	case WantCSV:
		a.Line = flat(failed(item.ID, f))
	default:
		if a.Line, err = encode(row{ID: orNull(item.ID), Error: &f}); err != nil {
			panic(err) // text and numbers always have a JSON form
		}
	}
	return a
}

// errInternal is a fault of ours.
var errInternal = errors.New("internal failure: our fault, not the report's; please send this message and the line that caused it")

const codeInternal = "internal"

// Code names the reason of a refusal in one word, for programs.
func Code(err error) string {
	var refusal *labreport.Refusal
	switch {
	case errors.Is(err, ErrLine):
		return "bad_line"
	case errors.As(err, &refusal) && len(refusal.Warnings) > 0:
		return refusal.Warnings[0].Code
	case errors.Is(err, engine.ErrSamples):
		return "several_samples"
	case errors.Is(err, engine.ErrDoubt):
		return "doubt"
	case errors.Is(err, engine.ErrWater):
		return "no_water"
	case errors.Is(err, labreport.ErrEdit):
		return "correction"
	case errors.Is(err, context.Canceled):
		return "interrupted"
	case errors.As(err, new(schemas.Problems)):
		return "refused"
	}
	return codeInternal
}

// encode writes a value as one line of JSON.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return b.Bytes(), err
}

func flat(cells []string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(cells) // a buffer takes everything
	w.Flush()
	return b.Bytes()
}

func orNull(id json.RawMessage) json.RawMessage {
	if id == nil {
		return json.RawMessage("null")
	}
	return id
}

// name is an id as plain text.
func name(id json.RawMessage) string {
	var s string
	if json.Unmarshal(id, &s) == nil {
		return s
	}
	return string(id)
}
