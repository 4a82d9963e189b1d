package bed

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Note is a finding about a bed on a water, in plain words, with an id that
// rules and tests can name.
type Note struct {
	ID   string
	Text string
}

// Limits of service that notes compare with.
const (
	gentleFlow  = 1.0    // gpm/ft3, ledger A24, common practice
	hardFlow    = 5.0    // gpm/ft3, ledger A24
	shallowBed  = 0.45   // m, ledger A22, common practice
	steepDrop   = 2.0    // psi/ft, ledger A20 (seen: 0.6 to 2 at normal service)
	typeTwoHeat = 35.0   // degC, ledger A29
	fewUnits    = 30.0   // transfer units between which the closed form
	manyUnits   = 130.0  // was compared with the cells, ledger B50 and B51
	oneGpmFt3   = 8.0208 // bed volumes an hour, ledger A24
	metresPerFt = 0.3048 // exact
)

// ServiceNotes says what about the flow, depth and temperature of a vessel is
// out of the ordinary. They need no water.
func ServiceNotes(v *Vessel, s Service) (all []Note) {
	add := func(id, format string, args ...any) { all = append(all, Note{id, fmt.Sprintf(format, args...)}) }
	nf := v.TransferUnits(s)
	usable := Halves{breakthrough(nf.Cation, capacityShare), breakthrough(nf.Anion, capacityShare)}
	if low, high := min(nf.Cation, nf.Anion), max(nf.Cation, nf.Anion); low < fewUnits || high > manyUnits {
		add("transfer_units", "The bed has %.0f transfer units in its cation half and %.0f in its anion half; closed form and cells were compared from %.0f to %.0f. Take the life as an estimate.", nf.Cation, nf.Anion, fewUnits, manyUnits)
	}
	if usable.Anion < 0.85 || usable.Cation < 0.85 {
		add("short_bed", "At this flow the water leaves before the bed is used up: by film kinetics alone about %.0f %% of the anion half and %.0f %% of the cation half serve. A lower flow, a deeper bed or a second vessel behind it uses more.", 100*usable.Anion, 100*usable.Cation)
	}
	flow := v.ServiceFlow(s)
	switch gpm := flow / oneGpmFt3; {
	case gpm > hardFlow:
		add("service_flow", "The service flow is %.0f bed volumes an hour (%.1f gpm/ft3); 1 to 5 gpm/ft3 is usual (common practice).", flow, gpm)
	case gpm < gentleFlow:
		add("service_flow", "The service flow is %.1f bed volumes an hour (%.2f gpm/ft3), below the usual 1 to 5 gpm/ft3 (common practice): harmless to the life, but water may find channels.", flow, gpm)
	}
	if v.Depth < shallowBed {
		add("shallow_bed", "The bed is %.2f m deep; mixed beds are usually at least %.2f m (common practice).", float64(v.Depth), shallowBed)
	}
	drop := v.PressureDrop(s)
	if perFt := drop.PSI() / (float64(v.Depth) / metresPerFt); perFt > steepDrop {
		add("pressure_drop", "The clean bed loses %.1f psi (%.0f kPa), %.1f psi a foot; 0.6 to 2 is normal (trade certification quiz, ledger A20).", drop.PSI(), float64(drop), perFt)
	}
	if s.Temperature > typeTwoHeat {
		add("warm", "Above 35 degC type II anion resin loses its groups, above 60 degC type I (data sheets, ledger A28 and A29).")
	}
	return all
}

// notes says in words what the run found.
func notes(v *Vessel, s Service, e *Ends, w *water.Water, b *Breakthrough) []Note {
	all := []Note{{"computed", "The run length is computed, not validated by measurement: no measured curve of a mixed bed on a natural water was found. The log of the rig itself is the calibration."}}
	add := func(id, format string, args ...any) { all = append(all, Note{id, fmt.Sprintf(format, args...)}) }
	residue, meter := b.End(EndResidue), b.End(EndMeter)

	half, other := "anion", EndCation
	if b.First == EndCation {
		half, other = "cation", EndAnion
	}
	add("first_half", "The %s half runs out first, after %s; the other %s.", half, litres(b.End(b.First).Life), reached(b.End(other).Life))
	switch {
	case !residue.Reached():
		add("residue_not_reached", "The dry residue of the product stays below %.3g mg/L as far as the run goes.", residue.Limit)
	case meter.Life > residue.Life:
		add("pen_blind", "The pen gives no warning: when the dry residue passes %.3g mg/L, after %s, it reads %.2g ppm (at %.2g ppm for each uS/cm); it shows %.3g ppm %s.",
			residue.Limit, litres(residue.Life), residue.Meter, e.MeterFactor, e.Meter, reached(meter.Life))
	default:
		add("pen_early", "The pen shows %.3g ppm after %s, before the dry residue passes %.3g mg/L after %s (it then reads %.3g ppm, at %.2g ppm for each uS/cm).",
			e.Meter, litres(meter.Life), residue.Limit, litres(residue.Life), residue.Meter, e.MeterFactor)
	}
	if residue.Reached() && bySilica(b, residue) {
		add("silica_test", "What passes the limit first is silica, which carries no charge. Use a silica drop test on the product (stop at %.3g mg/L), or count the volume: until your own log has shown the life, stop well before %s.", residue.Limit, litres(residue.Life))
	}
	if residue.Returns() {
		band := residue.Bands[0]
		add("band_returns", "The product is beyond %.3g mg/L from %s to %s; after that water has run to waste (%s) it is within the limit again, and the bed serves on %s. A silica drop test shows both ends of the band. In a real bed the band is lower and broader than the %.0f mg/L computed here.",
			residue.Limit, litres(band.From), litres(band.To), litres(residue.Waste()), until(residue.Final), band.Peak)
	}
	if meter.Reached() && b.End(EndCation).Life > meter.Life && carbonic(b, meter.Life) {
		add("carbonic_acid", "From %s to about %s the pen reads carbonic acid, which leaves no spot when the water dries.", litres(meter.Life), litres(min(b.End(EndCation).Life, lastVolume(b))))
	}
	if ph := b.End(EndPH); ph.Reached() {
		r := rowAt(b, ph.Life)
		kind, harm := "acid", "attacks metal"
		if r.Water.PH > 7 {
			kind, harm = "caustic", "attacks aluminium and paint"
		}
		add("product_ph", "After %s the product turns %s (pH %.1f), which %s: do not rinse with it.", litres(ph.Life), kind, r.Water.PH, harm)
	}
	if w.Sulfide > 0 {
		add("sulfide", "Sulfide is counted like bicarbonate, for want of a published affinity; it also fouls the resin.")
	}
	if residue.Reached() {
		add("trade_rating", "On this water the bed gives %.1f kilograins per ft3 of cations as CaCO3; the trade rates new resin at %.0f and regenerated resin at %.0f, whatever the water.", b.Rating.KgrPerFt3, TradeNew, TradeRegenerated)
	}
	return append(all, ServiceNotes(v, s)...)
}

// bySilica reports whether silica makes up most of the residue at its end.
func bySilica(b *Breakthrough, residue End) bool {
	r := rowAt(b, residue.Life)
	return float64(r.Silica) > 0.5*float64(r.Residue)
}

// carbonic reports whether the pen passes its limit on carbonic acid: without
// metals, at a pH that strong acid would undercut.
func carbonic(b *Breakthrough, at unit.Litres) bool {
	r := rowAt(b, at)
	strong := r.Water.Ion[water.Chloride] + 2*r.Water.Ion[water.Sulfate] + r.Water.Ion[water.Nitrate]
	return r.Water.TotalCarbon() > 10*strong
}

// rowAt returns the first row at or after a volume, or the last row.
func rowAt(b *Breakthrough, at unit.Litres) *Row {
	for i := range b.Rows {
		if b.Rows[i].Volume >= at {
			return &b.Rows[i]
		}
	}
	return &b.Rows[len(b.Rows)-1]
}

func lastVolume(b *Breakthrough) unit.Litres { return b.Rows[len(b.Rows)-1].Volume }

// litres writes a volume in both units, to three figures.
func litres(v unit.Litres) string {
	return fmt.Sprintf("%s L (%s gal)", figures(float64(v)), figures(v.Gallons()))
}

// figures writes a number to three significant figures, without exponent.
func figures(x float64) string {
	if x <= 0 {
		return "0"
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(x)))
	return fmt.Sprintf("%.*f", max(0, int(2-math.Floor(math.Log10(x)))), math.Round(x*scale)/scale)
}

func reached(v unit.Litres) string {
	if math.IsInf(float64(v), 1) {
		return "not within the run"
	}
	return "after " + litres(v)
}

func until(v unit.Litres) string {
	if math.IsInf(float64(v), 1) {
		return "beyond the run"
	}
	return "until " + litres(v)
}
