package labreport

// surroundingRows bounds how many rows around a table are read.
const surroundingRows = 60

// surroundings reads what stands around a table of known cells as the reader of
// layouts would: the name of the sample, the legend of units, the kind of the
// document. No results are read.
func surroundings(rows []row) *reader {
	r := &reader{src: source{rows: rows[:min(len(rows), surroundingRows)]}}
	r.cut()
	r.survey()
	for i := 0; i < r.real; i++ {
		if r.lines[i].blank || r.isRule(i) || len(r.items[i]) == 0 {
			continue
		}
		r.status(i)
		if !r.isFlagLegend(i) {
			r.explain(i)
		}
	}
	return r
}

// sample returns the name of the sample that the surroundings give, and where
// it was taken.
func (r *reader) sample() (label, source string) {
	if len(r.blocks) == 0 {
		return "", ""
	}
	b := &r.blocks[len(r.blocks)-1]
	switch b.class {
	case clsTreated:
		source = "treated"
	case clsRaw:
		source = "raw"
	}
	return b.label, source
}
