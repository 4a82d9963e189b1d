package process

import (
	"iter"
	"math/bits"
)

// Notes is a set of findings about a stage on one water.
type Notes uint32

// The findings.
const (
	NoteOrganicsUnknown Notes = 1 << iota // oxidant demand leaves out organics that nobody measured
	NoteAmmoniumUnknown                   // oxidant demand counts the ammonia that wells usually hold
	NoteSulfideUnknown                    // oxidant demand leaves out sulfide that nobody measured
	NoteOrganicIron                       // iron may be bound to organics: no removal is promised
	NoteIronFormUnknown                   // iron was measured as total only
	NoteFlocPasses                        // fresh iron floc is finer than the filter
	NoteCalciteScale                      // concentrate is supersaturated with calcite
	NoteGypsumScale                       // concentrate is supersaturated with gypsum
	NoteSilicaScale                       // concentrate is supersaturated with silica
	NoteWeakBackwash                      // backwash needs more than a common well pump gives
	NoteLowPressure                       // feed pressure does not overcome the stage
	NoteBreakpoint                        // chlorine must pass the breakpoint of ammonia
	NoteSulfurColloid                     // sulfide leaves as colloidal sulfur that must be filtered
	NoteAddsLoad                          // the stage adds to the load on the bed
	NotePartialNeutral                    // the contact is too short or too acid for full effect
	NoteManyUnits                         // more than four units in parallel: outside household equipment
	numNotes            = iota
)

// Note is a finding in plain words, with an id that rules and tests can name.
type Note struct {
	ID, Text string
}

var noteText = [numNotes]Note{
	{"organics_unknown", "organic carbon was not measured; the oxidant demand leaves it out"},
	{"ammonium_unknown", "ammonia was not measured; the oxidant demand counts what wells usually hold"},
	{"sulfide_unknown", "sulfide was not measured; the oxidant demand leaves it out"},
	{"organic_iron", "iron may be bound to organics, which passes oxidation, filters and resin: nothing is promised for it"},
	{"iron_form_unknown", "iron was measured as total only; dissolved and particulate iron need different stages"},
	{"floc_passes", "fresh iron floc is often finer than 1 um and passes this filter"},
	{"calcite_scale", "the concentrate is supersaturated with calcite: the membrane scales"},
	{"gypsum_scale", "the concentrate is supersaturated with gypsum: the membrane scales"},
	{"silica_scale", "the concentrate is supersaturated with silica: the membrane scales"},
	{"weak_backwash", "the backwash asks for more than a common well pump gives"},
	{"low_pressure", "the feed pressure does not overcome the stage: a booster pump is needed"},
	{"breakpoint", "ammonia takes up chlorine up to the breakpoint before any is left for iron or manganese to be sure of"},
	{"sulfur_colloid", "sulfide leaves as colloidal sulfur, which must be filtered"},
	{"adds_load", "the stage adds to the load on the bed"},
	{"partial_neutral", "the water leaves short of equilibrium with the medium"},
	{"many_units", "the flow asks for more units in parallel than a household rig has"},
}

// Has reports whether every note of q is in the set.
func (n Notes) Has(q Notes) bool { return n&q == q }

// All runs through the notes of the set in table order.
func (n Notes) All() iter.Seq[Note] {
	return func(yield func(Note) bool) {
		for m := n; m != 0; m &= m - 1 {
			if !yield(noteText[bits.TrailingZeros32(uint32(m))]) {
				return
			}
		}
	}
}
