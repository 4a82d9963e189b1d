package web

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"

	"forebed/chem/analysis"
	"forebed/chem/process"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// Form is what a person filled in, and which button was pressed.
type Form struct {
	Values url.Values
	Files  map[string]File // by field; a file stands before the text field beside it
	Static bool            // the page stands on a file host, and answers in the browser
}

// File is a file that was chosen in the form.
type File struct {
	Name string // for messages
	Body []byte
}

// Do is a button of the form.
type Do string

// The buttons.
const (
	DoStart    Do = ""         // the empty page
	DoRead     Do = "read"     // show what was understood
	DoPlan     Do = "plan"     // make the plan
	DoHTML     Do = "html"     // download the plan as one file
	DoMarkdown Do = "markdown" // download it for e-mail and notes
	DoJSON     Do = "json"     // download the plan document
	DoCSV      Do = "csv"      // download the reading
	DoRig      Do = "rig"      // download the rig as the command line takes it
	DoLog      Do = "log"      // hold the log against the plan
	DoLogAdd   Do = "log-add"  // write an entry down, then the same
	DoLogCSV   Do = "log-csv"  // download the log as the command line takes it
	DoLogICS   Do = "log-ics"  // download the upkeep for a calendar program
)

// The names of the form's fields. Those of results and stages carry an index
// or a kind behind a dash.
const (
	fieldDo     = "do"
	fieldReport = "report"
	fieldFile   = "file"
	fieldSample = "sample"
	fieldPads   = "pads"
	fieldUnits  = "units"
	fieldAck    = "acknowledge"
	fieldRigDoc = "rig_document"
	fieldCell   = "cell-"   // a result as the person wants it
	fieldWas    = "was-"    // as it stood in the page
	fieldKey    = "key-"    // analyte of that result
	fieldSettle = "settle-" // the flag that settles a doubt
	fieldStage  = "stage-"  // auto, with or without
	fieldEdits  = "edit"    // corrections made before, as flags
	fieldOf     = "of"      // mark of the report that all of these belong to
	fieldAddKey = "add-name"
	fieldAdd    = "add-value"
	fieldBefore = "headline" // what the plan on the page comes to

	fieldToday     = "today"
	fieldLog       = "log" // the text of the log
	fieldLogName   = "log_name"
	fieldLogFile   = "log_file"
	fieldPlanDoc   = "plan_document"
	fieldPlanFile  = "plan_file"
	fieldUntreated = "untreated"
	fieldPlanPen   = "plan_pen"
	fieldBigJob    = "big_job"
	fieldEntry     = "entry-" // a column of the new entry
	fieldTime      = "entry-time"
	fieldFull      = "entry-full"
	fieldLate      = "entry-late"
	fieldTwice     = "entry-twice"
)

func (f *Form) get(name string) string { return strings.TrimSpace(f.Values.Get(name)) }

func (f *Form) do() Do { return Do(f.Values.Get(fieldDo)) }

func (f *Form) units() render.Units {
	if f.get(fieldUnits) == string(render.Metric) {
		return render.Metric
	}
	return render.US
}

// input returns the report and what to call it.
func (f *Form) input() ([]byte, string) {
	if file := f.Files[fieldFile]; len(file.Body) > 0 {
		return file.Body, cmp.Or(file.Name, "the file")
	}
	return []byte(f.Values.Get(fieldReport)), "the report"
}

// markOf tells one report from another, however a browser ends its lines.
func markOf(report string) string {
	sum := sha256.Sum256([]byte(strings.Trim(strings.ReplaceAll(report, "\r", ""), "\n")))
	return hex.EncodeToString(sum[:8])
}

// sameReport tells whether the corrections of the form are about the report in
// it. A person who pastes another report over the first starts afresh.
func (f *Form) sameReport() bool {
	return len(f.Files[fieldFile].Body) == 0 && f.get(fieldOf) == markOf(f.Values.Get(fieldReport))
}

// edits collects the corrections: those made before, the doubts settled, and
// the cells that differ from what the page showed.
func (f *Form) edits() []string {
	if !f.sameReport() {
		return nil
	}
	flags := slices.Clone(f.Values[fieldEdits])
	for _, name := range f.numbered(fieldSettle) {
		if v := f.get(name); v != "" {
			flags = append(flags, v)
		}
	}
	for _, name := range f.numbered(fieldCell) {
		i := strings.TrimPrefix(name, fieldCell)
		now, was, key := f.get(name), f.get(fieldWas+i), f.get(fieldKey+i)
		switch {
		case key == "" || now == was:
		case now == "":
			flags = append(flags, "--drop "+key)
		default:
			flags = append(flags, "--set "+key+"="+now)
		}
	}
	if name, value := f.get(fieldAddKey), f.get(fieldAdd); name != "" && value != "" {
		flags = append(flags, "--set "+name+"="+value)
	}
	return flags
}

// numbered lists the fields with a prefix and a number, in order of number.
func (f *Form) numbered(prefix string) []string {
	var names []string
	for name := range f.Values {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			if _, err := strconv.Atoi(rest); err == nil {
				names = append(names, name)
			}
		}
	}
	number := func(name string) int { n, _ := strconv.Atoi(strings.TrimPrefix(name, prefix)); return n }
	slices.SortFunc(names, func(a, b string) int { return number(a) - number(b) })
	return names
}

// builtin are the rules that come with the program, read once: nobody changes
// them.
var builtin = sync.OnceValues(func() (*rules.Set, error) { return rules.Merge(rules.Builtin()...) })

// request makes the engine's request. The error is a schemas.Problems.
func (f *Form) request() (*engine.Request, error) {
	input, name := f.input()
	r := &engine.Request{Input: input, File: name, Pads: f.get(fieldPads), Seed: engine.DefaultSeed}
	if f.sameReport() {
		r.Edits.Sample = f.get(fieldSample)
	}
	for _, flag := range f.edits() {
		if e, ok := engine.EditsOf(flag); ok {
			r.Edits.Set = append(r.Edits.Set, e.Set...)
			r.Edits.Drop = append(r.Edits.Drop, e.Drop...)
			r.Edits.Basis = append(r.Edits.Basis, e.Basis...)
		}
	}
	for _, k := range process.Kinds() {
		switch f.get(fieldStage + string(k)) {
		case "with":
			r.Force = append(r.Force, k)
		case "without":
			r.Forbid = append(r.Forbid, k)
		}
	}
	var err error
	if r.Rig, err = f.rig(); err != nil {
		return nil, err
	}
	r.Rules, err = builtin()
	return r, err
}

// rig reads the rig from its document, if one is pasted, else from the fields.
// An empty field is a default.
func (f *Form) rig() (rules.Rig, error) {
	if doc := f.get(fieldRigDoc); doc != "" {
		return rules.ReadRig("the rig document", []byte(doc))
	}
	b, err := json.Marshal(f.rigDocument())
	if err != nil {
		return rules.Rig{}, err
	}
	return rules.ReadRig("your rig", b)
}

// rigFile is the rig as a file for the command line: the pasted document as
// it is, or the fields as JSON.
func (f *Form) rigFile() ([]byte, error) {
	if _, err := f.rig(); err != nil {
		return nil, err
	}
	if doc := f.get(fieldRigDoc); doc != "" {
		return []byte(doc + "\n"), nil
	}
	b, err := json.MarshalIndent(f.rigDocument(), "", "  ")
	return append(b, '\n'), err
}

// rigDocument turns the fields into a document; what is empty is left out.
func (f *Form) rigDocument() map[string]any {
	doc := map[string]any{"version": rules.RigVersion}
	for _, x := range rigFields {
		v := f.get(x.Name)
		if v == "" {
			continue
		}
		var value any = v
		switch x.Sort {
		case sortNumber:
			if n, err := strconv.ParseFloat(v, 64); err == nil {
				value = n
			}
		case sortYesNo:
			value = v == "yes"
		}
		put(doc, strings.Split(x.Path, "/"), value)
	}
	return doc
}

// put sets a value deep in a document; "vessels" holds a list of one.
func put(doc map[string]any, path []string, value any) {
	for _, p := range path[:len(path)-1] {
		if p == "vessels" {
			list, _ := doc[p].([]any)
			if len(list) == 0 {
				list = []any{map[string]any{}}
				doc[p] = list
			}
			doc = list[0].(map[string]any)
			continue
		}
		next, ok := doc[p].(map[string]any)
		if !ok {
			next = map[string]any{}
			doc[p] = next
		}
		doc = next
	}
	doc[path[len(path)-1]] = value
}

// sort tells how a field of the rig is filled in.
type sort int

const (
	sortText sort = iota
	sortNumber
	sortChoice
	sortYesNo
)

// rigField is one field of the rig on the page.
type rigField struct {
	Name    string // of the input
	Path    string // in the rig document
	Label   string
	Hint    string // shown in the empty field: the default
	Sort    sort
	Choices [][2]string // value and words
	More    bool        // folded away, since most people leave it
}

// rigFields are the fields that most people need; the rest is in the rig
// document.
var rigFields = []rigField{
	{"vessel_kind", "vessels/kind", "Vessel", "", sortChoice, [][2]string{{"", "tank (default)"}, {"tank", "tank, refilled"}, {"cartridge", "cartridge, thrown away"}, {"exchange", "exchange service"}}, false},
	{"resin", "vessels/resin", "Resin in it", "1 ft3", sortText, nil, false},
	{"condition", "vessels/condition", "Resin is", "", sortChoice, [][2]string{{"", "as usual"}, {"new", "new"}, {"regenerated", "regenerated"}, {"unknown", "unknown"}}, false},
	{"rinse", "use/rinse", "Water for one rinse", "8 gal", sortText, nil, false},
	{"rinses", "use/rinses_per_week", "Rinses a week", "3", sortNumber, nil, false},
	{"months", "use/months_per_year", "Months of use a year", "6", sortNumber, nil, false},
	{"flow", "use/peak_flow", "Highest flow", "2 gpm", sortText, nil, false},
	{"plain", "use/plain", "Plain filtered water beside it, each time", "none", sortText, nil, true},
	{"horizon", "use/horizon_years", "Count costs over years", "10", sortNumber, nil, true},
	{"residue", "endpoint/dry_residue_mg_per_l", "Dry residue that you accept, mg/L", "10", sortNumber, nil, true},
	{"drain", "site/drain", "A drain is near", "", sortYesNo, yesNo, true},
	{"septic", "site/septic", "It goes to a septic tank", "", sortYesNo, yesNo, true},
	{"power", "site/power", "Power is near", "", sortYesNo, yesNo, true},
	{"freezing", "site/freezing", "It can freeze there", "", sortYesNo, yesNo, true},
	{"outdoors", "site/outdoors", "It stands outdoors", "", sortYesNo, yesNo, true},
}

var yesNo = [][2]string{{"", "not said"}, {"yes", "yes"}, {"no", "no"}}

// understood is a row of the reading as the page shows it.
type understood struct {
	Index     int
	Key       string
	Name      string
	Value     string // editable
	AsWritten string
	Line      int
	Doubts    []doubt
}

// doubt is a warning with its possible meanings.
type doubt struct {
	Index    int
	Code     string
	Message  string
	Line     int
	Readings []analysis.Reading
	ByHand   bool // the value can be written in its place
}

// unread is a line of the report that gave no result.
type unread struct {
	Line      int
	Text, Why string
}
