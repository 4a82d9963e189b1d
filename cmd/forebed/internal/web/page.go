package web

import (
	"bytes"
	"context"
	"embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/labreport"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/cmd/forebed/internal/riglog"
	"forebed/schemas"
)

//go:embed page.tmpl form.css page.js site.js worker.js offline.js
var assets embed.FS

var pageTemplate = template.Must(template.New("page.tmpl").Funcs(template.FuncMap{"clean": render.Clean}).ParseFS(assets, "page.tmpl"))

// Asset returns one of the page's own files.
func Asset(name string) []byte {
	b, err := assets.ReadFile(name)
	if err != nil {
		panic(err) // embedded
	}
	return b
}

// Response is the answer to a form.
type Response struct {
	Type     string // content type
	Filename string // of a download; empty for a page
	Body     []byte
	Refused  bool // the page says what was refused and why
}

// view is what the template shows.
type view struct {
	Form     *Form
	Report   string
	Format   string
	Faults   []fault
	Samples  []option
	Rows     []understood
	Doubts   []doubt  // about the report as a whole
	Lost     []unread // lines that were not understood
	Unused   []unread // lines that say nothing about the water
	More     int      // of those that are not listed
	Edits    []string
	Rig      []input
	Stages   []input
	Pads     []option
	Units    []option
	Ack      bool
	Plan     template.HTML
	Headline string // what the plan comes to, for the status line
	HasPlan  bool
	HasStop  bool
	Before   string // what the plan before came to
	Log      logView
	Of       string // mark of the report that rows and corrections belong to
}

// fault is one problem in words.
type fault struct{ Place, Found, Want, Remedy string }

// option is one choice of a list.
type option struct {
	Value, Text string
	Chosen      bool
}

// input is one field of the form, filled in.
type input struct {
	Name, Label, Hint, Value string
	Type, List, Class        string // of the input: its sort, the list of words it offers, whom it is for
	Options                  []option
	Number, More             bool
}

// Page answers a form. The same form gives the same bytes.
func Page(ctx context.Context, f *Form) (*Response, error) {
	v := &view{Form: f, Report: f.Values.Get(fieldReport), Ack: f.get(fieldAck) != ""}
	v.fields(f)
	if f.do() == DoStart {
		return v.response()
	}
	if f.do() == DoRig {
		file, err := f.rigFile()
		if err != nil {
			return v.refuse(err)
		}
		return &Response{Type: "application/yaml", Filename: "rig.yaml", Body: file}, nil // JSON is YAML
	}
	if f.do().ofLog() {
		return v.log(ctx, f)
	}
	r, err := f.request()
	if err != nil {
		return v.refuse(err)
	}
	reading, err := v.read(f, r)
	if err != nil {
		return v.refuse(err)
	}
	if f.do() == DoRead {
		return v.response()
	}
	if f.do() == DoCSV {
		return download("text/csv; charset=utf-8", "reading.csv", func(b *bytes.Buffer) error { return labreport.WriteCSV(b, reading.Document) })
	}
	result, err := r.Plan(ctx)
	if err != nil {
		return v.refuse(err)
	}
	report := render.Report{Plan: result.Plan, Water: result.Water, Doubts: render.Warnings(reading.Document), Settled: result.Settled, Acknowledged: v.Ack, ToAcknowledge: "Tick the box above the plan to print it."}
	if f.do() == DoPlan || f.do() == DoHTML {
		report.Runs = r.Runs(result.Plan)
	}
	blocks := func() []render.Block { return render.Plan(report, f.units()) }
	switch f.do() {
	case DoHTML:
		return download("text/html; charset=utf-8", "plan.html", func(b *bytes.Buffer) error { return render.HTML(b, blocks()) })
	case DoMarkdown:
		return download("text/markdown; charset=utf-8", "plan.md", func(b *bytes.Buffer) error { return render.Markdown(b, blocks()) })
	case DoJSON:
		return download("application/json", "plan.json", func(b *bytes.Buffer) error { return render.JSON(b, render.Shown(result.Plan, v.Ack)) })
	}
	v.Plan = render.Fragment(blocks())
	v.HasPlan, v.HasStop = true, render.HasStop(result.Plan)
	v.Headline = render.Headline(result.Plan, f.units())
	if before := f.get(fieldBefore); before != "" && before != v.Headline {
		v.Before = before
	}
	return v.response()
}

// read shows the reading. A file that was sent becomes the text of the form,
// as CSV if it was no text, so that the next press needs no file again.
func (v *view) read(f *Form, r *engine.Request) (*labreport.Reading, error) {
	raw := *r
	raw.Edits, raw.Pads = labreport.Edits{}, ""
	reading, err := raw.Read()
	if err != nil {
		return nil, err
	}
	r.Reading = reading // the bytes are read once; what follows corrects that
	v.Format = reading.Format
	v.unread(reading.Lines, len(f.Files[fieldFile].Body) == 0)
	defer func() { v.Of = markOf(v.Report) }()
	if file := f.Files[fieldFile].Body; len(file) > 0 {
		if v.Report, err = asText(file, reading); err != nil {
			return nil, err
		}
	}
	for i, s := range reading.Document.Samples {
		name := fmt.Sprint(i + 1)
		v.Samples = append(v.Samples, option{name, engine.Describe(s), name == r.Edits.Sample || s.Label == r.Edits.Sample && s.Label != ""})
	}
	if len(v.Samples) == 1 {
		v.Samples = nil
	} else if r.Edits.Sample == "" {
		v.list(reading.Document)
		if f.do() == DoRead {
			return reading, nil
		}
		_, err := r.Sample(reading)
		return nil, err
	}
	if reading, err = r.Read(); err != nil {
		return nil, err
	}
	v.list(reading.Document)
	v.Edits = f.edits()
	return reading, nil
}

// asText returns an uploaded file as text to put in the form.
func asText(file []byte, reading *labreport.Reading) (string, error) {
	if reading.Format == "text" && !bytes.ContainsRune(file, 0) && bytes.Equal(bytes.ToValidUTF8(file, nil), file) {
		return string(file), nil
	}
	var b bytes.Buffer
	err := labreport.WriteCSV(&b, reading.Document)
	return b.String(), err
}

// list fills the table of what was understood.
func (v *view) list(doc analysis.Document) {
	n := 0
	for _, s := range doc.Samples {
		for _, x := range s.Results {
			row := understood{Index: len(v.Rows), Key: key(x), Name: render.ResultName(x), Value: editable(x), AsWritten: x.AsWritten, Line: x.Line}
			if len(doc.Samples) > 1 {
				row.Name += " (" + engine.Describe(s) + ")"
			}
			for _, w := range x.Warnings {
				row.Doubts = append(row.Doubts, doubtOf(n, w))
				n++
			}
			v.Rows = append(v.Rows, row)
		}
	}
	for _, w := range doc.Warnings {
		v.Doubts = append(v.Doubts, doubtOf(n, w))
		n++
	}
}

// doubtOf shows a warning. A meaning that the command line leaves a person to
// fill in is no choice here: the field above it takes the value.
func doubtOf(index int, w analysis.Warning) doubt {
	d := doubt{Index: index, Code: w.Code, Message: w.Message, Line: w.Line}
	for _, r := range w.Readings {
		name, present := strings.CutSuffix(r.Flag, "=present")
		switch {
		case strings.Contains(r.Flag, "=VALUE"):
			d.ByHand = true
		case present:
			d.Readings = append(d.Readings, analysis.Reading{Flag: r.Flag, Means: "present"}, analysis.Reading{Flag: name + "=absent", Means: "absent"})
		default:
			d.Readings = append(d.Readings, r)
		}
	}
	return d
}

// mostUnread is how many lines without a result are listed.
const mostUnread = 60

// unread lists the lines of a report that gave no result: what was not
// understood, and what says nothing about the water. The text of a line is
// shown where the report was pasted, and not read from a file.
func (v *view) unread(lines []labreport.Fate, pasted bool) {
	var text []string
	if pasted {
		text = strings.Split(strings.ReplaceAll(v.Report, "\r\n", "\n"), "\n")
	}
	for _, l := range lines {
		u := unread{Line: l.Line, Why: l.Why}
		if l.Line <= len(text) {
			u.Text = short(text[l.Line-1], 80)
		}
		switch l.What {
		case labreport.Doubtful:
			v.Lost = append(v.Lost, u)
		case labreport.Ignored:
			v.Unused = append(v.Unused, u)
		}
	}
	v.More = max(0, len(v.Unused)-mostUnread)
	v.Unused = v.Unused[:len(v.Unused)-v.More]
}

// short cuts a line that is too long to show.
func short(line string, most int) string {
	line = strings.TrimSpace(line)
	if r := []rune(line); len(r) > most {
		return string(r[:most]) + "..."
	}
	return line
}

// key names a result in a correction: "dissolved iron", "nitrate".
func key(r analysis.Result) string {
	name := string(r.Analyte)
	if r.Fraction != analysis.NotStated {
		name = string(r.Fraction) + " " + name
	}
	return name
}

// editable prints a result as a correction takes it: "1.2 mg/L", "<0.05 mg/L".
func editable(r analysis.Result) string {
	s := render.Understood(r)
	if rest, ok := strings.CutPrefix(s, "below "); ok {
		return "<" + rest
	}
	if rest, ok := strings.CutPrefix(s, "above "); ok {
		return ">" + rest
	}
	if r.Low != nil && r.High != nil && r.Value == nil {
		return strings.Replace(s, " to ", "-", 1)
	}
	if a, ok := analyte.Lookup(r.Analyte); ok && r.Unit == unit.None && a.Default == unit.PH {
		return strings.TrimSpace(s)
	}
	return s
}

// fields fills in the parts of the form that are always there.
func (v *view) fields(f *Form) {
	v.Log.fields(f)
	v.Headline = f.get(fieldBefore)
	for _, x := range rigFields {
		in := input{Name: x.Name, Label: x.Label, Hint: x.Hint, Value: f.get(x.Name), Number: x.Sort == sortNumber, More: x.More}
		for _, c := range x.Choices {
			in.Options = append(in.Options, option{c[0], c[1], c[0] == in.Value})
		}
		v.Rig = append(v.Rig, in)
	}
	for _, k := range process.Kinds() {
		name := fieldStage + string(k)
		in := input{Name: name, Label: plain(string(k)), Value: f.get(name)}
		for _, c := range [][2]string{{"", "plan decides"}, {"with", "always"}, {"without", "never"}} {
			in.Options = append(in.Options, option{c[0], c[1], c[0] == in.Value})
		}
		v.Stages = append(v.Stages, in)
	}
	v.Pads = []option{{"", "not a strip, or not known", f.get(fieldPads) == ""}}
	for _, p := range labreport.Pads() {
		if !slices.ContainsFunc(v.Pads, func(o option) bool { return o.Value == p.Table }) {
			v.Pads = append(v.Pads, option{p.Table, p.Table, f.get(fieldPads) == p.Table})
		}
	}
	for _, u := range [][2]string{{"us", "gallons, psi"}, {"metric", "litres, kPa"}} {
		v.Units = append(v.Units, option{u[0], u[1], u[0] == string(f.units())})
	}
}

// OnlyRead tells whether the answer is the reading.
func (v *view) OnlyRead() bool { return !v.Answered() && len(v.Faults) == 0 }

// Answered tells whether a plan or a log is the answer.
func (v *view) Answered() bool { return v.HasPlan || v.Log.Answer != "" }

// Open counts the results that carry a doubt.
func (v *view) Open() int {
	n := 0
	for _, r := range v.Rows {
		if len(r.Doubts) > 0 {
			n++
		}
	}
	return n
}

// Analytes are the names that a result can be added under.
func (v *view) Analytes() []string {
	var names []string
	for _, a := range analyte.All() {
		names = append(names, a.Name)
	}
	slices.Sort(names)
	return names
}

// MoreFilled tells whether a field of the folded part of the rig is filled in.
func (v *view) MoreFilled() bool {
	return slices.ContainsFunc(v.Rig, func(in input) bool { return in.More && in.Value != "" })
}

// Switched tells whether the person has steered the stages, or can see a plan
// to steer.
func (v *view) Switched() bool {
	return v.HasPlan || slices.ContainsFunc(v.Stages, func(in input) bool { return in.Value != "" })
}

// Static tells whether the page stands on a file host.
func (v *view) Static() bool { return v.Form.Static }

// SitePolicy is the policy of such a page, which no server states.
func (v *view) SitePolicy() string { return SitePolicy }

// RigDocument is the pasted rig document, to show it again.
func (v *view) RigDocument() string { return v.Form.Values.Get(fieldRigDoc) }

// Empty is an empty picture: browsers ask for an icon, and the page loads
// nothing from elsewhere.
func (v *view) Empty() template.URL {
	return template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString([]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`)))
}

func (v *view) refuse(err error) (*Response, error) {
	var ps schemas.Problems
	if !errors.As(err, &ps) {
		return nil, err
	}
	for _, p := range ps.Sorted() {
		v.Faults = append(v.Faults, faultOf(p))
	}
	res, err := v.response()
	if res != nil {
		res.Refused = true
	}
	return res, err
}

// faultOf says a problem in the words of the page, which has a place for what
// the command line settles by flags.
func faultOf(p schemas.Problem) fault {
	var place []string
	if p.File != "" {
		place = append(place, p.File)
	}
	if p.Line > 0 {
		place = append(place, fmt.Sprintf("line %d", p.Line))
	}
	if p.Field != "" {
		place = append(place, strings.ReplaceAll(strings.TrimPrefix(p.Field, "/"), "/", ", "))
	}
	remedy := p.Remedy
	switch {
	case errors.Is(p, engine.ErrSamples):
		remedy = "choose the sample under the report; take the raw water, before any treatment"
	case errors.Is(p, engine.ErrDoubt):
		remedy = "choose what is meant, or correct the value, under What was understood"
	case errors.Is(p, riglog.ErrLate):
		remedy = "correct the day, or tick below that it is a late entry"
	case errors.Is(p, riglog.ErrTwice):
		remedy = "leave it out, or tick below that it happened twice"
	case errors.Is(p, riglog.ErrMeter):
		remedy = "correct the figure or the day; or say, under Rarely needed, that the meter passed its highest count or began again at 0"
	case errors.Is(p, riglog.ErrDamaged) && p.Field == "":
		remedy = "mend the line in the text of the log, or take it out"
	}
	return fault{strings.Join(place, ", "), p.Found, p.Want, remedy}
}

func (v *view) response() (*Response, error) {
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, v); err != nil {
		return nil, err
	}
	return &Response{Type: "text/html; charset=utf-8", Body: b.Bytes()}, nil
}

func download(contentType, name string, print func(*bytes.Buffer) error) (*Response, error) {
	var b bytes.Buffer
	if err := print(&b); err != nil {
		return nil, err
	}
	return &Response{Type: contentType, Filename: name, Body: b.Bytes()}, nil
}

func plain(id string) string { return strings.ReplaceAll(id, "_", " ") }
