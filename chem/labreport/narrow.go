package labreport

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// field is what a column of a table with one result a row holds.
type field int

const (
	fieldName field = iota
	fieldValue
	fieldUnit
	fieldFraction
	fieldSpeciation
	fieldCondition
	fieldQualifier
	fieldStatus
	fieldValueType
	fieldStatistic
	fieldReporting // a limit column without a type of its own: a reporting limit
	fieldDetection // the same: a detection limit
	fieldLimitType
	fieldLimitMeasure
	fieldLimitUnit
	fieldLimitTypeB
	fieldLimitMeasureB
	fieldLimitUnitB
	fieldCode
	fieldDescription
	fieldSample
	fieldSampleType
	fieldLocation
	fieldLocationType
	fieldDate
	fieldMedia
	fieldDetected
	fieldCensored
	fieldRemark // words about a result
	fieldPrior  // a value that the result replaces
	fieldCount  // how many fields there are
)

// fieldHeadings are those of tables with one result a row, folded (see
// foldHeading). Sources: WQX (columns of the legacy download of the Water Quality Portal, of the 3.x
// download, and of the WQX Web export), and the plain words that other tables
// use (common practice, no source).
var fieldHeadings = map[string]field{
	"characteristicname": fieldName, "resultcharacteristic": fieldName, "characteristic": fieldName,
	"analyte": fieldName, "analytename": fieldName, "parameter": fieldName, "parametername": fieldName, "constituent": fieldName, "determinand": fieldName, "variable": fieldName, "variablename": fieldName, "chemicalname": fieldName, "chemical": fieldName, "paramname": fieldName, "compound": fieldName, "substance": fieldName, "test": fieldName, "testname": fieldName, "component": fieldName, "componentname": fieldName,
	"resultmeasurevalue": fieldValue, "resultmeasure": fieldValue, "value": fieldValue, "result": fieldValue, "resultvalue": fieldValue, "concentration": fieldValue, "reportedresult": fieldValue, "finalresult": fieldValue,
	"resultmeasuremeasureunitcode": fieldUnit, "resultmeasureunit": fieldUnit, "unit": fieldUnit, "units": fieldUnit, "resultunit": fieldUnit, "resultunits": fieldUnit, "unitofmeasure": fieldUnit, "uom": fieldUnit, "reportedunits": fieldUnit,
	"resultsamplefractiontext": fieldFraction, "resultsamplefraction": fieldFraction, "fraction": fieldFraction, "samplefraction": fieldFraction,
	"methodspecificationname": fieldSpeciation, "methodspeciationname": fieldSpeciation, "resultmethodspeciation": fieldSpeciation, "methodspeciation": fieldSpeciation, "speciation": fieldSpeciation, "basis": fieldSpeciation, "expressedas": fieldSpeciation,
	"resultdetectionconditiontext": fieldCondition, "resultresultdetectioncondition": fieldCondition, "detectioncondition": fieldCondition, "resultdetectioncondition": fieldCondition,
	"measurequalifiercode": fieldQualifier, "resultmeasurequalifiercode": fieldQualifier, "qualifier": fieldQualifier, "qualifiers": fieldQualifier, "flag": fieldQualifier, "flags": fieldQualifier, "qual": fieldQualifier, "q": fieldQualifier, "labqualifier": fieldQualifier, "labqualifiers": fieldQualifier, "labqual": fieldQualifier, "resultqualifier": fieldQualifier, "resultqualifiers": fieldQualifier, "qualifiercode": fieldQualifier, "dataqualifier": fieldQualifier, "interpretedqualifiers": fieldQualifier, "finalqualifier": fieldQualifier, "validationqualifier": fieldQualifier,
	"detectflag": fieldDetected, "detected": fieldDetected, "detect": fieldDetected, "detectyn": fieldDetected, "detectedyn": fieldDetected,
	"censored": fieldCensored, "nondetect": fieldCensored, "nd": fieldCensored, "isnd": fieldCensored, "censor": fieldCensored, "lessthan": fieldCensored,
	"resultstatusidentifier": fieldStatus, "resultmeasurestatusidentifier": fieldStatus, "status": fieldStatus, "resultstatus": fieldStatus,
	"resultvaluetypename": fieldValueType, "resultmeasuretype": fieldValueType, "valuetype": fieldValueType,
	"statisticalbasecode": fieldStatistic, "resultstatisticalbase": fieldStatistic, "statistic": fieldStatistic,
	"reportinglimit": fieldReporting, "rl": fieldReporting, "mrl": fieldReporting, "pql": fieldReporting, "loq": fieldReporting, "lor": fieldReporting, "rdl": fieldReporting, "quantitationlimit": fieldReporting, "reportingdetectionlimit": fieldReporting, "reportlimit": fieldReporting, "methodreportinglimit": fieldReporting, "practicalquantitationlimit": fieldReporting, "quantificationlimit": fieldReporting,
	"detectionlimit": fieldDetection, "mdl": fieldDetection, "limitunit": fieldLimitUnit, "limitunits": fieldLimitUnit, "lod": fieldDetection, "dl": fieldDetection, "methoddetectionlimit": fieldDetection,
	"detectionquantitationlimittypename": fieldLimitType, "detectionlimittypea": fieldLimitType, "detectionlimittype": fieldLimitType,
	"detectionquantitationlimitmeasuremeasurevalue": fieldLimitMeasure, "detectionlimitmeasurea": fieldLimitMeasure,
	"detectionquantitationlimitmeasuremeasureunitcode": fieldLimitUnit, "detectionlimitmeasureunita": fieldLimitUnit,
	"detectionlimittypeb": fieldLimitTypeB, "detectionlimitmeasureb": fieldLimitMeasureB, "detectionlimitmeasureunitb": fieldLimitUnitB,
	"remark": fieldRemark, "remarks": fieldRemark, "comment": fieldRemark, "comments": fieldRemark, "note": fieldRemark, "notes": fieldRemark, "resultcomment": fieldRemark, "resultcomments": fieldRemark, "labcomments": fieldRemark, "resultcommenttext": fieldRemark,
	"usgspcode": fieldCode, "pcode": fieldCode, "parmcd": fieldCode,
	"resultcharacteristicusersupplied": fieldDescription,
	"activityidentifier":               fieldSample, "activityactivityidentifier": fieldSample, "activityid": fieldSample, "sampleid": fieldSample, "sample": fieldSample, "samplenumber": fieldSample, "labsampleid": fieldSample, "labid": fieldSample, "laboratoryid": fieldSample, "labno": fieldSample, "syssamplecode": fieldSample, "samplecode": fieldSample, "samplename": fieldLocation, "sampleno": fieldSample, "samplenum": fieldSample,
	"activitytypecode": fieldSampleType, "activitytype": fieldSampleType, "sampletype": fieldSampleType, "sampletypecode": fieldSampleType, "type": fieldSampleType, "qctype": fieldSampleType, "qccode": fieldSampleType, "samptype": fieldSampleType,
	"monitoringlocationidentifier": fieldLocation, "locationidentifier": fieldLocation, "monitoringlocationid": fieldLocation, "siteid": fieldLocation, "wellid": fieldLocation, "well": fieldLocation, "clientsampleid": fieldLocation, "fieldsampleid": fieldLocation, "clientid": fieldLocation, "sampledescription": fieldLocation, "samplepoint": fieldLocation, "samplinglocation": fieldLocation, "wellname": fieldLocation, "location": fieldLocation, "locationname": fieldLocation, "locationid": fieldLocation, "syslocationcode": fieldLocation, "locid": fieldLocation, "locname": fieldLocation, "sitename": fieldLocation, "sitecode": fieldLocation, "sitenumber": fieldLocation, "siteno": fieldLocation, "station": fieldLocation, "stationid": fieldLocation, "stationname": fieldLocation, "source": fieldLocation, "bore": fieldLocation, "borehole": fieldLocation, "tap": fieldLocation, "site": fieldLocation,
	"monitoringlocationtypename": fieldLocationType, "locationtype": fieldLocationType, "monitoringlocationtype": fieldLocationType,
	"activitystartdate": fieldDate, "sampledate": fieldDate, "collected": fieldDate, "collectiondate": fieldDate, "date": fieldDate, "datecollected": fieldDate, "sampled": fieldDate, "datesampled": fieldDate, "samplingdate": fieldDate, "sampledatetime": fieldDate, "collectdate": fieldDate,
	"activitymedianame": fieldMedia, "activitymedia": fieldMedia, "media": fieldMedia, "matrix": fieldMedia, "samplematrix": fieldMedia, "matrixcode": fieldMedia,
}

// foldHeading makes two spellings of a column heading comparable: letters and
// digits only, lower case. A slash that arrived as a dot does not matter then.
func foldHeading(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case 'A' <= r && r <= 'Z':
			return r + 'a' - 'A'
		case 'a' <= r && r <= 'z' || '0' <= r && r <= '9':
			return r
		}
		return -1
	}, s)
}

// narrow is a table with one result a row and several columns beside it.
type narrow struct {
	grid
	head    int // index of the heading row
	columns fieldColumns
	wqx     bool   // the columns are those of the Water Quality Exchange
	label   string // the sample of all rows, where no column tells it
	labQC   bool   // blanks and spikes of the laboratory stand among the rows
	above   *standing
	legend  map[string]class // what flags mean, where notes explain them
}

// standing is what stays said from one row to the next.
type standing struct {
	fraction analysis.Fraction // by a row that heads a section: "Dissolved metals"
	cells    map[field]string  // of merged cells: the sample, in the first of its rows
	tested   bool              // the dates are those of analysis and part no samples
	controls map[string]bool   // whether a name of a sample is that of a control
	kinds    map[string]bool   // the same of a type of sample
}

// fieldColumns are the columns of each field, in the order in which they stand:
// a value may be given as text and as a number, flags by two hands.
type fieldColumns [fieldCount][]int

func (c *fieldColumns) has(f field) bool { return len(c[f]) > 0 }

// searchedForHeading bounds how far down a table its heading may stand.
const searchedForHeading = 30

// narrowTable tells a table of this kind by its headings: a name and a value,
// and a unit and a column that tells samples apart, or else nothing that the
// headings leave open (tidy.go). Other tables with one result a row are left to
// the reader of layouts.
func narrowTable(t grid) (narrow, bool) {
	for i, r := range t.rows[:min(len(t.rows), searchedForHeading)] {
		heads := t.headings(i)
		if len(heads) < 2 {
			continue
		}
		n := narrow{grid: t, head: i}
		for _, h := range heads {
			n.columns[h.field] = append(n.columns[h.field], h.column)
		}
		has := n.columns.has
		if !has(fieldName) || !has(fieldValue) {
			continue
		}
		n.wqx = has(fieldCondition) && strings.Contains(foldHeading(n.cell(r.cells, fieldName)), "characteristic")
		if has(fieldUnit) && (has(fieldSample) || has(fieldLocation)) || n.isTidy() {
			n.labQC = n.holdsControls()
			return n, true
		}
		return narrow{}, false // a later heading would rule only what is below it
	}
	return narrow{}, false
}

// holdsControls tells whether blanks, spikes or check standards of the
// laboratory stand among the rows.
func (n narrow) holdsControls() bool {
	if !n.columns.has(fieldSampleType) {
		return false
	}
	seen := map[string]bool{}
	return slices.ContainsFunc(n.rows[n.head+1:], func(r row) bool {
		kind := n.cell(r.cells, fieldSampleType)
		looked := seen[kind]
		seen[kind] = true
		return !looked && isControlType(kind)
	})
}

// read reads every row: each is used, or explained.
func (n narrow) read(format string) *Reading {
	g := newGrouping()
	r := &Reading{Format: format}
	if n.wqx {
		r.Format = "wqx"
	}
	source := ""
	n.above = newStanding()
	n.above.tested = n.datesOfAnalysis()
	around := n.preface()
	n.legend = around.legend
	if !n.columns.has(fieldSample) && !n.columns.has(fieldLocation) {
		n.label, source = around.sample()
	}
	lost := lostCells(n.grid, n.head, n.head+1)
	for i, row := range n.rows {
		if row.text == "" {
			continue
		}
		f := Fate{Line: row.line}
		switch {
		case i < n.head:
			f.Why = "stands before the heading of the table"
		case i == n.head:
			f.What, f.Why = Explains, "the heading of the table"
		default:
			f = n.readRow(row, g, lost(row))
			if strings.HasPrefix(f.Why, notWater) {
				r.foreign++
			}
		}
		r.Lines = append(r.Lines, f)
	}
	r.Document = g.document(dayOrder(n.rows[min(n.head+1, len(n.rows)):], n.column(fieldDate)))
	for i := range r.Document.Samples {
		if s := &r.Document.Samples[i]; s.Source == "" {
			s.Source = source
		}
	}
	r.Lines = spread(r.Lines, n.rows)
	return r
}

// column returns the first column of a field, or -1.
func (n narrow) column(f field) int {
	if n.columns.has(f) {
		return n.columns[f][0]
	}
	return -1
}

// cell returns what stands in a row under a field, in the first of its columns
// that is not empty; "" if there is none.
func (n narrow) cell(cells []string, f field) string {
	for _, j := range n.columns[f] {
		if j < len(cells) && cells[j] != "" {
			return cells[j]
		}
	}
	return ""
}

// cells returns all that stands in a row under a field.
func (n narrow) cellsOf(w row, f field) string {
	if len(n.columns[f]) < 2 {
		return n.cell(w.cells, f)
	}
	var all []string
	for _, j := range n.columns[f] {
		if c := cellAt(w, j); c != "" {
			all = append(all, c)
		}
	}
	return strings.Join(all, " ")
}

// value returns the value of a row. Where several columns give it, the one with
// a sign or a word beside a plain number says more; a second number that
// differs is returned too.
func (n narrow) value(w row) (m measure, other string) {
	m = readMeasure(n.cell(w.cells, fieldValue), n.style)
	for _, j := range n.columns[fieldValue][1:] {
		next := readMeasure(cellAt(w, j), n.style)
		switch {
		case next.kind == measureEmpty:
		case m.kind == measureNumber && next.kind != measureNumber:
			m = next
		case m.kind == measureNumber && next.value != m.value:
			other = next.written
		}
	}
	return m, other
}

// readRow reads one row into the grouping and tells what became of it. From a
// row that has lost a cell nothing certain can be read.
func (n narrow) readRow(w row, g *grouping, lost bool) Fate {
	n.fillDown(w)
	at := func(f field) string { return n.cell(w.cells, f) }
	if n.opensSection(w) {
		return Fate{Line: w.line, What: Explains, Why: "the heading of a section"}
	}
	res, out := n.result(w)
	switch {
	case out.code != "":
		g.warn(analysis.Warning{Code: out.code, Message: out.why, Line: w.line, Analyte: res.Analyte})
		return Fate{Line: w.line, What: Doubtful, Why: out.why}
	case out.why != "":
		return Fate{Line: w.line, Why: out.why}
	}
	if lost {
		doubtful(&res, "ambiguous_layout", "this row has fewer cells than the heading: what is read may stand in the wrong column")
	}
	g.add(bottle{location: cmp.Or(n.label, at(fieldLocation)), date: n.dayOf(w), sample: at(fieldSample), kind: at(fieldSampleType), source: at(fieldLocationType)}, res)
	return Fate{Line: w.line, What: HasResult}
}

// dayOf returns the day of the visit that a row belongs to. A column called
// "Date" and no more holds the days of analysis if no analyte has two of them
// and nothing else names a sample.
func (n narrow) dayOf(w row) string {
	day := n.cell(w.cells, fieldDate)
	if n.above != nil && n.above.tested {
		return ""
	}
	return day
}

// datesOfAnalysis tells whether the dates of a table are those of analysis.
func (n narrow) datesOfAnalysis() bool {
	j := n.column(fieldDate)
	if j < 0 || n.columns.has(fieldSample) || n.columns.has(fieldLocation) || foldHeading(cellAt(n.rows[n.head], j)) != "date" {
		return false
	}
	days := map[string]string{} // by analyte
	for _, w := range n.rows[n.head+1:] {
		name, day := strings.ToLower(n.cell(w.cells, fieldName)+" "+n.cell(w.cells, fieldFraction)), n.cell(w.cells, fieldDate)
		if other, seen := days[name]; seen && other != day {
			return false
		}
		days[name] = day
	}
	return true
}

// fillDown puts the sample, place and date of a row into the rows below it that
// leave all of them empty, as merged cells do.
func (n narrow) fillDown(w row) {
	if n.above == nil {
		return
	}
	stated := false
	for _, f := range [...]field{fieldLocation, fieldSample, fieldDate} {
		stated = stated || n.cell(w.cells, f) != ""
	}
	for _, f := range [...]field{fieldLocation, fieldSample, fieldDate} {
		j := n.column(f)
		switch {
		case j < 0 || j >= len(w.cells):
		case stated:
			n.above.cells[f] = n.cell(w.cells, f)
		default:
			w.cells[j] = n.above.cells[f]
		}
	}
}

// opensSection takes up a row that names a group of analytes and holds nothing
// else: "Dissolved metals". It ends with the next.
func (n narrow) opensSection(w row) bool {
	name := n.cell(w.cells, fieldName)
	if n.above == nil || name == "" || n.cell(w.cells, fieldValue) != "" || n.cell(w.cells, fieldUnit) != "" || n.cell(w.cells, fieldQualifier) != "" || n.cell(w.cells, fieldCondition) != "" {
		return false
	}
	if _, known := n.named(w); known {
		return false
	}
	n.above.fraction = fractionOf(strings.ToLower(name), analyte.Coded{})
	return true
}

// left tells why a row is left out. With a code, it holds a result that is
// withheld, and the report is doubted for it.
type left struct{ why, code string }

// result reads one row, or tells why it is left out.
func (n narrow) result(w row) (analysis.Result, left) {
	at := func(f field) string { return n.cell(w.cells, f) }
	if why := n.foreign(w); why != "" {
		return analysis.Result{}, left{why: why}
	}
	named, ok := n.named(w)
	if !ok {
		return analysis.Result{}, left{why: at(fieldName) + " is no analyte that a plan needs"}
	}
	a := analyte.Must(named.ID)
	res := analysis.Result{Analyte: a.ID, Line: w.line, Note: named.Note}
	if named.foreign != "" {
		return res, left{fmt.Sprintf("%s: %s", a.Name, notConverted(named.foreign)), "basis_unstated"}
	}
	if a.Metal {
		res.Fraction = fractionOf(strings.ToLower(at(fieldFraction)), named.Coded)
		if n.above != nil && res.Fraction == analysis.NotStated {
			res.Fraction = n.above.fraction
		}
	}
	u, basis, known := cellUnit(at(fieldUnit), a)
	if st, ok := damagedUnit(at(fieldUnit), a); !known && ok {
		u, basis, known = st.unit, ownBasis(a.ID, st.basis), true
		doubtful(&res, "unit_suspect", fmt.Sprintf("the unit %q is read as %s, the only one it can have been", at(fieldUnit), st.unit))
	}
	if !known {
		why := fmt.Sprintf("the unit %q is not one that %s is known in", at(fieldUnit), a.Name)
		if slices.Contains(sideUnits, strings.ToLower(at(fieldUnit))) {
			return res, left{why: why}
		}
		return res, left{why, "unit_suspect"}
	}
	res.Unit, res.Basis = cmp.Or(u, named.unit), n.basis(w, a, basis, named)
	if why := n.measure(w, a, &res); why != "" {
		return res, left{why: why}
	}
	if strings.EqualFold(at(fieldStatus), "rejected") || hasFlag(n.flags(w), "R") {
		return res, left{fmt.Sprintf("%s %s was rejected by its publisher", a.Name, res.AsWritten), "rejected_value"}
	}
	n.doubts(w, a, &res)
	return res, left{}
}

// sideUnits are units in which a figure is published beside the same figure
// in a usual one.
var sideUnits = []string{"tons/ac ft", "tons/day", "tons/acre ft"}

// notWater begins the reason why a row about another medium is left out.
const notWater = "not water but "

// foreign tells why a row is not about the water of a well: a blank of the
// laboratory, sediment, particles.
func (n narrow) foreign(w row) string {
	at := func(f field) string { return n.cell(w.cells, f) }
	media := strings.ToLower(at(fieldMedia))
	switch {
	case at(fieldName) == "":
		return "names no analyte"
	case n.isControl(w), n.labQC && isLabRepeat(at(fieldSampleType)):
		return "a quality-control sample: " + cmp.Or(at(fieldSampleType), at(fieldLocation), at(fieldSample))
	case media != "" && !strings.Contains(media, "water") && !slices.Contains(waterCodes, media):
		return notWater + media
	case strings.Contains(strings.ToLower(at(fieldFraction)), "suspended"), strings.Contains(strings.ToLower(at(fieldDescription)), "sediment"):
		return "particles only: " + at(fieldName)
	}
	return ""
}

// basis tells as what a result is expressed: as its own column says, else its
// unit, else its name or code.
func (n narrow) basis(w row, a analyte.Analyte, byUnit analyte.Basis, named nameCell) analyte.Basis {
	if as := n.cell(w.cells, fieldSpeciation); as != "" {
		if b, ok := cellBasis(as, a); ok {
			return b
		}
	}
	byName, _ := cellBasis(string(cmp.Or(named.basis, named.Basis)), a)
	return cmp.Or(byUnit, byName)
}

// controlCodes stand in the column of sample types of laboratories' deliverables
// for blanks, spikes, check standards and repeats of the laboratory, waterCodes
// in that of the media (common practice, no source).
var (
	controlCodes = []string{"LB", "MB", "FB", "TB", "EB", "RB", "AB", "BLK", "MBLK", "LCS", "LCSD", "BS", "BD", "BSD", "MS", "MSD", "SD", "LR", "LD", "DUP-LAB", "CCV", "CCB", "ICV", "ICB", "SRM"}
	waterCodes   = []string{"aqueous", "aq", "w", "wg", "gw", "dw", "wp", "wdw", "liquid"}
)

// isControl tells a row of a sample of the laboratory's own by its type or
// names, each of which stands in many rows and is asked once.
func (n narrow) isControl(w row) bool {
	seen := n.above
	if seen == nil {
		seen = newStanding()
	}
	return asked(seen.kinds, n.cell(w.cells, fieldSampleType), isControlType) ||
		asked(seen.controls, n.cell(w.cells, fieldLocation), isControl) || asked(seen.controls, n.cell(w.cells, fieldSample), isControl)
}

func asked(known map[string]bool, name string, ask func(string) bool) bool {
	yes, ok := known[name]
	if !ok {
		yes = name != "" && ask(name)
		known[name] = yes
	}
	return yes
}

func newStanding() *standing {
	return &standing{cells: map[field]string{}, controls: map[string]bool{}, kinds: map[string]bool{}}
}

// isControlType tells blanks, spikes and check standards by a type of sample.
func isControlType(kind string) bool {
	return isControl(kind) || slices.Contains(controlCodes, strings.ToUpper(kind))
}

// isLabRepeat tells a type that may be a repeat in the laboratory or a second
// bottle of the field: among controls of the laboratory it is the former.
func isLabRepeat(kind string) bool {
	return strings.EqualFold(kind, "dup") || strings.EqualFold(kind, "duplicate")
}

// isControl tells the laboratory's own samples by their type or name.
func isControl(name string) bool {
	name = strings.ToLower(name)
	words := strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" -_/,.()", r) })
	return strings.HasPrefix(name, "qc") || slices.Contains(words, "blank") || slices.Contains(words, "spike") || slices.ContainsFunc([]string{"quality control", "control sample", "control standard", "lab duplicate", "laboratory duplicate", "lab replicate", "laboratory control", "check standard"}, func(w string) bool { return strings.Contains(name, w) })
}

// named tells the analyte by its parameter code, else by its name.
func (n narrow) named(w row) (nameCell, bool) {
	if c, ok := analyte.ByParameterCode(n.cell(w.cells, fieldCode)); ok {
		h := nameCell{Coded: c}
		if !n.columns.has(fieldUnit) {
			h.unit, h.basis = unitOfPhrase(n.cell(w.cells, fieldName), analyte.Must(c.ID))
		}
		return h, true
	}
	name := strings.TrimLeft(n.cell(w.cells, fieldName), "*")
	if n.wqx {
		naming, ok := analyte.ByName(name) // a public vocabulary: whole names only
		return nameCell{Coded: analyte.Coded{Naming: naming}}, ok
	}
	return readName(name)
}

// unitOfPhrase finds the unit, with its basis, in the parts of a long name:
// "Nitrate, water, filtered, milligrams per liter as nitrogen".
func unitOfPhrase(name string, a analyte.Analyte) (unit.Unit, analyte.Basis) {
	parts := strings.Split(name, ", ")
	for _, p := range parts[1:] {
		if u, b, ok := cellUnit(p, a); ok && u != unit.None {
			return u, b
		}
	}
	return unit.None, ""
}

// nonDetects are the detection conditions that mean: the true value is lower
// than the limit. Source: WQX, domain list ResultDetectionCondition.
var nonDetects = []string{"not detected", "non-detect", "below detection limit", "below reporting limit", "below method detection limit", "below sample-specific detect limit",
	"below system detection limit", "below long-term blank-based detection limit", "present below quantification limit", "not detected at reporting limit", "not detected at detection limit", "below quantification limit"}

// undetected are the words of a column that tells whether a substance was
// detected at all (common practice, no source).
var undetected = []string{"n", "no", "false", "nd", "u", "f"}

// measure fills in the value, range or limit of a row. Why tells the reason
// when there is none.
func (n narrow) measure(w row, a analyte.Analyte, res *analysis.Result) (why string) {
	at := func(f field) string { return n.cell(w.cells, f) }
	condition := strings.ToLower(strings.TrimLeft(cmp.Or(at(fieldCondition), n.remarkedCondition(w)), "*"))
	m, other := n.value(w)
	res.AsWritten = m.written
	flags := n.flags(w)
	below := slices.Contains(nonDetects, condition) || hasFlag(flags, "U") || hasSign(flags, "<") || slices.Contains(undetected, strings.ToLower(at(fieldDetected))) || censors(at(fieldCensored))
	if m.kind == measureNumber && hasSign(flags, ">") {
		m.kind = measureAbove
	}
	switch {
	case below && m.kind == measureNumber && !m.twoWays && condition == "present below quantification limit":
		res.Value = analysis.Number(m.value)
		doubtful(res, "estimated_value", fmt.Sprintf("%s %s lies below the quantification limit", a.Name, m.written))
	case (below || m.kind == measureBelow) && !m.isMissing(a.ID):
		res.Nondetect = true
		n.limit(w, m, a, res)
	case m.twoWays:
		twoNumbers(res, m)
	case m.kind == measureNumber:
		res.Value = analysis.Number(m.value)
	case m.kind == measureAbove:
		moreThan(res, a, m)
	case m.kind == measurePresence && a.Kind == analyte.Microbe:
		res.Value, res.Unit = analysis.Number(m.value), unit.Presence
	case m.kind == measureEmpty && (condition == "" || condition == "not reported"), m.kind == measureWords && slices.Contains(noValueWords, strings.ToLower(m.written)):
		return "no value is reported"
	case m.isMissing(a.ID):
		return m.written + " stands for a missing value"
	case m.kind == measureEmpty && (condition == "present above quantification limit" || condition == "above operating range"):
		res.AsWritten = at(fieldCondition)
		doubtful(res, "over_range", fmt.Sprintf("%s is more than could be measured: %s", a.Name, at(fieldCondition)))
	case m.kind == measureEmpty:
		res.AsWritten = at(fieldCondition)
		doubtful(res, "qualitative_only", fmt.Sprintf("%s is reported in words only: %s", a.Name, at(fieldCondition)))
	default:
		doubtful(res, "qualitative_only", fmt.Sprintf("%s is reported as %q, which is no number", a.Name, m.written))
	}
	if m.unit.unit != unit.None {
		n.ownUnit(m.unit, a, res)
	}
	if prior := readMeasure(at(fieldPrior), n.style); prior.kind == measureNumber && (m.kind != measureNumber || prior.value != m.value) {
		doubtful(res, "conflicting_values", fmt.Sprintf("an earlier figure for %s, %s, was replaced by %s, which is kept", a.Name, prior.written, m.written))
	}
	if other != "" {
		doubtful(res, "conflicting_values", fmt.Sprintf("the row gives %s as %s and as %s; the first is kept", a.Name, m.written, other))
	}
	return ""
}

// remarkedCondition returns the remark beside a result if it says nothing but
// that the substance was not detected.
func (n narrow) remarkedCondition(w row) string {
	remark := strings.ToLower(strings.Trim(n.cell(w.cells, fieldRemark), " .*"))
	if slices.Contains(nonDetects, remark) || len(remark) > 1 && slices.Contains(absentWords, remark) {
		return "not detected"
	}
	return ""
}

// ownUnit takes up the unit that stands in the cell of the value.
func (n narrow) ownUnit(u stated, a analyte.Analyte, res *analysis.Result) {
	switch {
	case !compatible(a.ID, u.unit), res.Unit != unit.None && res.Unit != u.unit:
		doubtful(res, "unit_suspect", fmt.Sprintf("%s is written with the unit %s, which is not that of its column or name", a.Name, u.unit))
	default:
		res.Unit = u.unit
	}
	if b := ownBasis(a.ID, u.basis); b != "" {
		res.Basis = b
	}
}

// noValueWords stand where nothing was measured, or where a spreadsheet could
// not work a value out.
var noValueWords = []string{"-", "--", "---", ".", "n/a", "na", "n.a.", "nan", "null", "none", "not analyzed", "not analysed", "not tested", "not measured", "not sampled", "ns", "nt", "nm", "n.b.", "#n/a", "#div/0!", "#ref!", "#value!", "#name?", "#null!", "#num!", "pending", "tbd"}

// censored are the words of a column that tells whether the value is a limit
// that the true value lies below (common practice, no source).
var censored = []string{"y", "yes", "true", "t", "1", "<", "lt", "nd", "u", "left", "left-censored", "censored"}

func censors(cell string) bool {
	return cell != "" && slices.Contains(censored, strings.ToLower(cell))
}

// limit finds the censoring limit of a non-detect: the number behind "<",
// else the limit columns in order of rank, else the value itself when the
// condition says that it stands for the limit.
func (n narrow) limit(w row, m measure, a analyte.Analyte, res *analysis.Result) {
	at := func(f field) string { return n.cell(w.cells, f) }
	if m.twoWays {
		res.Nondetect = false
		twoNumbers(res, m)
		return
	}
	if m.kind == measureBelow && m.hasLimit || m.kind == measureNumber && m.value > 0 && hasFlag(n.flags(w), "U") {
		res.Limit = analysis.Number(m.value)
		return
	}
	best, bestRank := measure{}, 0
	bestUnit := unit.None
	consider := func(kind, value, unitCell string) {
		l := readMeasure(value, n.style)
		if rank := limitRank(kind); l.kind == measureNumber && !l.twoWays && rank > bestRank {
			u, _, ok := cellUnit(unitCell, a)
			if !ok {
				return
			}
			if u == unit.None && compatible(a.ID, l.unit.unit) {
				u = l.unit.unit
			}
			best, bestRank, bestUnit = l, rank, u
		}
	}
	consider(at(fieldLimitType), at(fieldLimitMeasure), at(fieldLimitUnit))
	consider(at(fieldLimitTypeB), at(fieldLimitMeasureB), at(fieldLimitUnitB))
	consider("reporting limit", at(fieldReporting), n.plainLimitUnit(w))
	consider("detection limit", at(fieldDetection), n.plainLimitUnit(w))
	switch {
	case bestRank > 0:
		res.Limit = analysis.Number(best.value)
		if bestUnit != unit.None && bestUnit != unit.Ratio {
			res.Unit = bestUnit // a non-detect has no other number that could be in another unit
		}
	case m.kind == measureNumber && m.value > 0:
		res.Limit = analysis.Number(m.value)
	default:
		noLimit(res, a)
	}
}

// plainLimitUnit is the unit of limits that have no type of their own.
func (n narrow) plainLimitUnit(w row) string {
	if n.columns.has(fieldLimitType) {
		return ""
	}
	return n.cell(w.cells, fieldLimitUnit)
}

// limitRank orders the kinds of limit as censoring limits; 0 means that the
// number is no detection limit at all ("Drinking Water Maximum", an upper
// limit of the method). Source: WQX, domain list
// DetectionQuantitationLimitType; the order is ours: what the publisher
// censors at, else reporting, else detection.
func limitRank(kind string) int {
	k := strings.ToLower(kind)
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(k, w) })
	}
	switch {
	case has("drinking water", "maximum contaminant", "upper", "criteria", "standard", "uncertainty", "confidence"):
		return 0
	case has("censoring"):
		return 4
	case has("report", "quantitation", "quantification", "practical", "contract required"):
		return 3
	case has("detect", "critical level", "instrument"):
		return 2
	case k == "":
		return 1
	}
	return 0
}

// flags are the letters of the qualifier column and those beside the value.
func (n narrow) flags(w row) string {
	return inLetters(strings.TrimSpace(n.cellsOf(w, fieldQualifier)+" "+readMeasure(n.cell(w.cells, fieldValue), n.style).remark), n.legend)
}

// inLetters spells flags that a legend explains as the usual letters for what
// they mean.
func inLetters(flags string, legend map[string]class) string {
	if flags == "" || len(legend) == 0 {
		return flags
	}
	words := strings.FieldsFunc(flags, func(r rune) bool { return strings.ContainsRune(" ,;/", r) })
	for i, w := range words {
		switch legend[w] {
		case flagNone:
			words[i] = "U"
		case flagEstimated:
			words[i] = "J"
		case flagBlank:
			words[i] = "B"
		case flagHold:
			words[i] = "H"
		case flagReject:
			words[i] = "R"
		}
	}
	return strings.Join(words, " ")
}

// doubts notes what the publisher itself says against a result.
func (n narrow) doubts(w row, a analyte.Analyte, res *analysis.Result) {
	flagDoubts(a, res, n.flags(w))
	if strings.EqualFold(n.cell(w.cells, fieldValueType), "estimated") && res.Value != nil {
		doubtful(res, "estimated_value", fmt.Sprintf("%s %s is an estimate, says its publisher", a.Name, res.AsWritten))
	}
	if s := n.cell(w.cells, fieldStatistic); s != "" {
		res.Note = strings.TrimPrefix(res.Note+"; "+strings.ToLower(s)+" of several", "; ")
	}
}

// qualifiers are the laboratory flags that weaken a result (common practice,
// no source; the letters agree with the EPA's functional guidelines for data
// review as far as those define them).
var qualifiers = []struct{ letter, code, means string }{
	{"J", "estimated_value", "estimated"},
	{"E", "estimated_value", "estimated"},
	{"B", "blank_contamination", "also found in the blank"},
	{"H", "holding_time", "the bottle stood too long before analysis"},
}

// flagDoubts adds what the letters beside a result mean.
func flagDoubts(a analyte.Analyte, res *analysis.Result, flags string) {
	for _, q := range qualifiers {
		if hasFlag(flags, q.letter) && !(q.letter == "E" && res.Nondetect) {
			doubtful(res, q.code, fmt.Sprintf("%s %s is flagged %s: %s", a.Name, res.AsWritten, flags, q.means))
		}
	}
}

// hasFlag tells whether a qualifier cell such as "J", "U;J", "UJ" or "J-"
// carries a letter. Longer words are codes of a publisher, not letters.
func hasFlag(cell, letter string) bool {
	for _, w := range strings.FieldsFunc(cell, func(r rune) bool { return strings.ContainsRune(",;/ +-", r) }) {
		if len(w) <= 2 && strings.Contains(strings.ToUpper(w), letter) {
			return true
		}
	}
	return false
}

// hasSign tells whether one of the flags is a sign, as a column of remarks
// gives it.
func hasSign(cell, sign string) bool {
	return strings.Contains(cell, sign) && slices.Contains(strings.Fields(cell), sign)
}

// fractionOf reads a WQX sample fraction. Source: WQX, domain list
// ResultSampleFraction.
func fractionOf(cell string, named analyte.Coded) analysis.Fraction {
	switch {
	case cell == "d":
		return analysis.Dissolved
	case cell == "t", strings.Contains(cell, "unfiltered"), strings.Contains(cell, "total"), strings.Contains(cell, "acid soluble"), strings.Contains(cell, "extractable"):
		return analysis.Total
	case strings.Contains(cell, "filter"), strings.Contains(cell, "dissolved"):
		return analysis.Dissolved
	case named.Dissolved:
		return analysis.Dissolved
	case named.Total:
		return analysis.Total
	}
	return analysis.NotStated
}

// spread gives the further lines of a row that runs over several lines the
// fate of that row.
func spread(fates []Fate, rows []row) []Fate {
	spans := map[int]int{}
	for _, r := range rows {
		if r.span > 0 {
			spans[r.line] = r.span
		}
	}
	if len(spans) == 0 {
		return fates
	}
	var all []Fate
	for _, f := range fates {
		all = append(all, f)
		for i := range spans[f.Line] {
			all = append(all, Fate{Line: f.Line + 1 + i, What: f.What, Why: fmt.Sprintf("belongs to the row of line %d", f.Line)})
		}
	}
	return all
}
