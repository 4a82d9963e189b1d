package labreport

import (
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
)

// readRecords reads JSON of any shape that holds results as records: a list of
// objects that each name an analyte and a value, objects keyed by analyte, or
// one object a sample whose keys name analytes and units. Samples, places and
// dates are those of the objects around a record. It gives nil when nothing is
// found. A stream of objects, one after the other, is read too.
func readRecords(text string) *Reading {
	b := recordBuilder{table: grid{rows: []row{recordHeading()}}}
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	lines := lineCounter{text: text}
	for {
		n, err := readNode(d, &lines, 0)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil
		}
		b.walk(n, record{})
	}
	if len(b.table.rows) == 1 {
		return nil
	}
	b.table.learnStyle()
	t, ok := narrowTable(b.table)
	if !ok {
		return nil
	}
	r := t.read("json")
	if len(r.Document.Samples) == 0 {
		return nil
	}
	r.Lines = fatesByLine(r.Lines, text)
	return r
}

// fatesByLine gives every line of the text a fate: that of the best record on it.
func fatesByLine(fates []Fate, text string) []Fate {
	at := map[int]Fate{}
	for _, f := range fates {
		if old, ok := at[f.Line]; !ok || old.What == Ignored {
			at[f.Line] = f
		}
	}
	var all []Fate
	for i, l := range strings.Split(text, "\n") {
		if strings.TrimSpace(l) == "" {
			continue
		}
		f, ok := at[i+1]
		if !ok {
			f = Fate{Line: i + 1, What: Explains, Why: "part of the records"}
		}
		all = append(all, f)
	}
	return all
}

// node is a value of JSON with the line on which it stands.
type node struct {
	key     string
	text    string // of a scalar, as written; "" for null
	line    int
	members []node // of an object or a list
	list    bool
	object  bool
}

func (n *node) scalar() bool { return !n.list && !n.object }

var errDeep = errors.New("nested too deep")

// readNode reads the next value.
func readNode(d *json.Decoder, lines *lineCounter, depth int) (node, error) {
	if depth > maxXMLDepth {
		return node{}, errDeep
	}
	t, err := d.Token()
	if err != nil {
		return node{}, err
	}
	n := node{line: lines.at(d.InputOffset())}
	switch t := t.(type) {
	case json.Delim:
		n.object, n.list = t == '{', t == '['
		for d.More() {
			key := ""
			if n.object {
				k, err := d.Token()
				if err != nil {
					return node{}, err
				}
				key, _ = k.(string)
			}
			m, err := readNode(d, lines, depth+1)
			if err != nil {
				return node{}, noEOF(err)
			}
			m.key = key
			n.members = append(n.members, m)
		}
		_, err = d.Token()
		return n, noEOF(err)
	case json.Number:
		n.text = t.String()
	case string:
		n.text = asShown(t)
	case bool:
		n.text = "false"
		if t {
			n.text = "true"
		}
	}
	return n, nil
}

// noEOF keeps the end of a torn value from being taken for the end of all.
func noEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// lineCounter tells the line of an offset; offsets only grow.
type lineCounter struct {
	text string
	pos  int
	line int
}

func (c *lineCounter) at(offset int64) int {
	end := min(int(offset), len(c.text))
	c.line += strings.Count(c.text[c.pos:end], "\n")
	c.pos = end
	return c.line + 1
}

// record is what is known about a result: the text of each field.
type record map[field]string

// with returns a copy of the record with the scalars of an object put in. The
// name or id of an object around results is that of its sample.
func (r record) with(n node) record {
	out := record{}
	for f, v := range r {
		out[f] = v
	}
	for _, m := range n.members {
		if f, ok := headingField(m.key); ok && m.scalar() && inheritedFields[f] {
			out[f] = m.text
		}
	}
	for _, m := range n.members {
		if m.scalar() && m.text != "" && slices.Contains(labelHeadings, foldHeading(m.key)) {
			if f, ok := headingField(m.key); !ok || f == fieldLocation {
				out[fieldLocation] = m.text
				break
			}
		}
	}
	return out
}

// inheritedFields are those that the objects around a record state for it.
var inheritedFields = map[field]bool{fieldSample: true, fieldLocation: true, fieldDate: true, fieldSampleType: true, fieldMedia: true, fieldUnit: true, fieldFraction: true, fieldLocationType: true, fieldStatus: true}

// recordFields are the columns of the table that records are put into, each
// under a heading that is read as that field.
var recordFields = []struct {
	field   field
	heading string
}{
	{fieldLocation, "location"}, {fieldSample, "sampleid"}, {fieldDate, "date"}, {fieldSampleType, "sampletype"}, {fieldLocationType, "locationtype"}, {fieldMedia, "media"},
	{fieldName, "analyte"}, {fieldValue, "result"}, {fieldUnit, "unit"}, {fieldFraction, "fraction"}, {fieldSpeciation, "speciation"}, {fieldQualifier, "qualifier"},
	{fieldReporting, "rl"}, {fieldDetection, "mdl"}, {fieldLimitUnit, "limitunit"}, {fieldDetected, "detected"}, {fieldCensored, "censored"}, {fieldCondition, "detectioncondition"}, {fieldStatus, "status"}, {fieldCode, "pcode"}, {fieldValueType, "valuetype"},
}

func recordHeading() row {
	var cells []string
	for _, f := range recordFields {
		cells = append(cells, f.heading)
	}
	return row{text: strings.Join(cells, "\t"), cells: cells}
}

// recordBuilder puts records into a table with one result a row.
type recordBuilder struct {
	table grid
	units map[string]string // units stated key by key
}

func (b *recordBuilder) add(r record, line int) {
	cells := make([]string, len(recordFields))
	for j, f := range recordFields {
		cells[j] = r[f.field]
	}
	b.table.rows = append(b.table.rows, row{line: line, text: strings.Join(cells, "\t"), cells: cells})
}

// leastKeyed is how many keys of an object must name analytes before they are
// results: one alone may be anything.
const leastKeyed = 2

// walk reads a value and what is inside it.
func (b *recordBuilder) walk(n node, around record) {
	if n.list {
		for _, m := range n.members {
			b.walk(m, around)
		}
		return
	}
	if !n.object {
		return
	}
	for _, t := range n.tabled() {
		b.walk(t, around.with(n))
	}
	if r, ok := ownRecord(n, around); ok {
		b.add(r, n.valueLine())
		return
	}
	inside := around.with(n)
	b.learnUnits(n)
	keyed := 0
	for _, m := range n.members {
		if namesAnalyte(m) {
			keyed++
		}
	}
	bySample := keyed < leastKeyed && n.keysAreSamples()
	for _, m := range n.members {
		switch {
		case keyed >= leastKeyed && namesAnalyte(m):
			b.addKeyed(m, inside)
		case keyed >= leastKeyed && m.object && allScalar(m.members) && isNamed(m.key):
			b.addKeyed(node{key: m.key, text: m.written(), line: m.line}, inside) // no number, but not lost
		case !m.scalar() && bySample:
			b.walk(m, inside.at(m.key))
		case !m.scalar():
			b.walk(m, inside)
		}
	}
}

// isNamed tells whether a key names an analyte.
func isNamed(key string) bool {
	h, ok := readName(key)
	return ok && h.ID != ""
}

// written spells an object of scalars for a reader who has to make sense of it.
func (n *node) written() string {
	var parts []string
	for _, m := range n.members {
		parts = append(parts, m.key+": "+m.text)
	}
	return strings.Join(parts, ", ")
}

// at returns the record at a place that only a key names.
func (r record) at(place string) record {
	out := r.with(node{})
	out[fieldLocation] = place
	return out
}

// keysAreSamples tells whether the keys of an object name samples: two of its
// members hold the same analyte. Otherwise they name groups of analytes.
func (n *node) keysAreSamples() bool {
	seen := map[string]bool{}
	for _, m := range n.members {
		for _, id := range m.analytes(0) {
			if seen[id] {
				return true
			}
		}
		for _, id := range m.analytes(0) {
			seen[id] = true
		}
	}
	return false
}

// analytes lists what the members of a value name, and theirs.
func (n *node) analytes(depth int) []string {
	if n.scalar() || depth > 3 {
		return nil
	}
	var all []string
	for _, m := range n.members {
		if h, ok := readName(m.key); ok && namesAnalyte(m) {
			all = append(all, string(h.ID))
			continue
		}
		if r, ok := ownRecord(m, nil); ok && m.object {
			all = append(all, r[fieldName])
			continue
		}
		all = append(all, m.analytes(depth+1)...)
	}
	return all
}

// tabled returns the rows of a table that an object holds as a list of headings
// and a list of lists, each as an object with the headings as its keys.
func (n *node) tabled() []node {
	var rows []node
	for _, head := range n.members {
		if !head.list || len(head.members) < 2 || !allScalar(head.members) {
			continue
		}
		for _, data := range n.members {
			if !data.list {
				continue
			}
			for _, d := range data.members {
				if !d.list || len(d.members) != len(head.members) || !allScalar(d.members) {
					break
				}
				o := node{object: true, line: d.line}
				for k, m := range d.members {
					m.key = head.members[k].text
					o.members = append(o.members, m)
				}
				rows = append(rows, o)
			}
		}
	}
	return rows
}

func allScalar(members []node) bool {
	return !slices.ContainsFunc(members, func(m node) bool { return !m.scalar() })
}

// addKeyed adds a result that stands under the name of its analyte.
func (b *recordBuilder) addKeyed(m node, around record) {
	r := around
	if m.object {
		r, _ = ownRecord(node{object: true, members: append([]node{{key: "analyte", text: m.key}}, m.members...)}, around)
	} else {
		r = record{}
		for f, v := range around {
			r[f] = v
		}
		r[fieldValue] = m.text
	}
	r[fieldName] = m.key
	if u := b.units[foldHeading(m.key)]; u != "" && r[fieldUnit] == "" {
		r[fieldUnit] = u
	}
	b.add(r, m.valueLine())
}

// namesAnalyte tells a member that holds a result: its key names an analyte,
// and it is a number, a sign with a number, nothing, or an object with a value.
func namesAnalyte(m node) bool {
	if m.list || !isNamed(m.key) {
		return false
	}
	if m.object {
		_, ok := ownRecord(node{object: true, members: append([]node{{key: "analyte", text: m.key}}, m.members...)}, nil)
		return ok
	}
	return readMeasure(m.text, style{}).kind != measureWords
}

// ownRecord reads an object that is one result: it names an analyte and a value.
func ownRecord(n node, around record) (record, bool) {
	r := record{}
	for f, v := range around {
		r[f] = v
	}
	named, valued, limit := false, false, ""
	members := n.members
	for _, m := range n.members {
		if f, ok := headingField(m.key); ok && m.object && f == fieldValue {
			members = append(slices.Clone(members), m.members...) // "result": {"value": 0.4, "unit": "mg/L"}
		}
	}
	for _, m := range members {
		if !m.scalar() {
			continue
		}
		f, ok := headingField(m.key)
		switch {
		case !ok && foldHeading(m.key) == "limit":
			limit = m.text
		case !ok && foldHeading(m.key) == "name" && !named:
			r[fieldName], named = m.text, m.text != ""
		case !ok:
		case f == fieldName && m.text != "":
			r[f], named = m.text, true
		case f == fieldValue:
			if r[f] == "" || readMeasure(m.text, style{}).kind != measureNumber && m.text != "" {
				r[f] = m.text
			}
			valued = true
		case f == fieldQualifier && r[f] != "":
			r[f] += " " + m.text
		case m.text != "":
			r[f] = m.text
		}
	}
	if r[fieldValue] == "" && limit != "" && r[fieldDetection] == "" {
		r[fieldDetection] = limit // with no value beside it, a limit is what could have been seen
	}
	return r, named && valued
}

// learnUnits takes up units stated key by key: {"units": {"iron": "mg/L"}}, or
// "iron_unit" beside "iron".
func (b *recordBuilder) learnUnits(n node) {
	if b.units == nil {
		b.units = map[string]string{}
	}
	for _, m := range n.members {
		f, ok := headingField(m.key)
		if m.object && ok && f == fieldUnit {
			for _, u := range m.members {
				if u.scalar() {
					b.units[foldHeading(u.key)] = u.text
				}
			}
		}
		for _, tail := range []string{"unit", "units", "uom"} {
			if key, ok := strings.CutSuffix(foldHeading(m.key), tail); ok && key != "" && m.scalar() {
				b.units[key] = m.text
			}
		}
	}
}

// valueLine is the line on which the value of a record stands.
func (n *node) valueLine() int {
	for _, m := range n.members {
		if f, ok := headingField(m.key); ok && f == fieldValue && m.scalar() {
			return m.line
		}
	}
	return n.line
}
