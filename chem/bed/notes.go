package bed

import (
	"forebed/chem/water"
)

// Note is a finding about a bed on a water, in plain words, with an id that
// rules and tests can name.
type Note struct {
	ID   string
	Text string
}

func notes(v *Vessel, s Service, e *Ends, w *water.Water, b *Breakthrough) []Note { return nil }
