package rules

import (
	"slices"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// chlorinatedFrom is the free or total chlorine that only a dosed water holds,
// mg/L as Cl2: a well has none, and a strip's first colour stands at about
// this figure. Common practice, no source.
const chlorinatedFrom = 0.2 * unit.MilligramPerLitre

// suit takes from the report what the rig's owner did not state about the
// source: a water with chlorine is taken for a public supply. It returns the
// rig changed, and leaves the original alone.
func (r Rig) suit(s *analysis.Sample) Rig {
	i := slices.IndexFunc(r.Assumptions, func(a Assumption) bool { return a.Field == "/site/private_well" })
	if i < 0 || s == nil || !chlorinated(s) {
		return r
	}
	r.Assumptions = slices.Clone(r.Assumptions)
	r.Site.PrivateWell = false
	r.Assumptions[i].Value = "a public supply, for the report shows chlorine"
	if k := slices.IndexFunc(r.Assumptions, func(a Assumption) bool { return a.Field == "/site/chlorinated" }); k >= 0 {
		r.Site.Chlorinated = true
		r.Assumptions[k].Value = "yes, for the report shows chlorine"
	}
	return r
}

func chlorinated(s *analysis.Sample) bool {
	for _, x := range s.Results {
		if x.Value == nil || x.Analyte != "free_chlorine" && x.Analyte != "total_chlorine" {
			continue
		}
		if mg, err := analyte.Must(x.Analyte).MgPerL(*x.Value, x.Unit, x.Basis); err == nil && mg >= chlorinatedFrom {
			return true
		}
	}
	return false
}
