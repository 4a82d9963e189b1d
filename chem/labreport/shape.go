package labreport

// shape is what a line of one cell holds.
type shape uint8

const (
	shOther shape = iota
	shBlank
	shName  // the name of an analyte and nothing else
	shValue // a value and nothing else
	shUnit
	shHead // words over a column
)

// shapeOf classifies a line of one cell.
func (r *reader) shapeOf(i int) shape {
	l := &r.lines[i]
	if l.blank {
		return shBlank
	}
	items := r.items[i]
	if l.cells > 1 && items[len(items)-1].cell > items[0].cell {
		return shOther
	}
	roles, values, units, others := 0, 0, 0, 0
	for k := range items {
		it := &items[k]
		switch it.kind {
		case itPunct, itDash:
		case itValue:
			if it.val.counts {
				others++
			}
			values++
			if it.role != roleNone && !it.val.number() {
				roles++
			}
		case itUnit, itDitto:
			units++
		case itWord, itName, itBasis:
			switch {
			case it.role != roleNone && (it.kind != itName || len(items) == 1 && it.fold != "ph"):
				roles++
			case it.kind == itWord && smallWord(it.fold):
			case it.kind == itWord && it.class&clsLimit != 0:
			default:
				others++
			}
		default:
			others++
		}
	}
	switch {
	case roles > 0 && others == 0 && values <= roles && !(len(items) == 1 && items[0].kind == itValue && items[0].val.untested):
		return shHead
	case values > 0 && others == 0 && roles == 0:
		return shValue
	case units > 0 && values == 0 && others == 0 && roles == 0:
		return shUnit
	case len(items) > 0 && values == 0 && others == 0 && roles == 0 && r.isRule(i):
		return shValue // a dash stands for a value
	}
	if nm, ok := r.rowName(i); ok && nm.next == len(items) && !nm.limited {
		return shName
	}
	return shOther
}
