package bed

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Options steers the cell model. The zero value asks for the defaults.
type Options struct {
	Cells   int     // cells in series; 0 means 80
	Batches int     // batches of water that exhaust one cell; 0 means 4
	Past    float64 // how far to go, as a multiple of the exhaustion of the longer-lived half; 0 means 1.3
}

// Defaults of the cell model. Against 400 cells and 16 batches they move the
// lives of the ledger's waters by less than 1 % and the height of the silica
// band by less than 5 % (60 cells and 8 batches: 1 % and 40 %).
const (
	defaultCells   = 80
	defaultBatches = 4
	defaultPast    = 1.3
)

// Bounds of the options: together about a minute of computing.
const (
	mostCells   = 400
	mostBatches = 200
	furthest    = 5
)

func (o Options) filled() (Options, error) {
	if o.Cells == 0 {
		o.Cells = defaultCells
	}
	if o.Batches == 0 {
		o.Batches = defaultBatches
	}
	if o.Past == 0 {
		o.Past = defaultPast
	}
	if o.Cells < 5 || o.Cells > mostCells || o.Batches < 1 || o.Batches > mostBatches || !(o.Past > 0 && o.Past <= furthest) {
		return o, fmt.Errorf("options of the cell model: %d cells, %d batches, %v times exhaustion; expected 5 to %d, 1 to %d and up to %d",
			o.Cells, o.Batches, o.Past, mostCells, mostBatches, furthest)
	}
	return o, nil
}

// Row is one point of the breakthrough curve.
type Row struct {
	Volume     unit.Litres // through the vessel so far
	BedVolumes float64
	Meter      float64 // what the pen shows, ppm
	Product
}

// Breakthrough is the answer of the cell model.
type Breakthrough struct {
	Rows      []Row // thinned to where something changes
	Ends      []End // in the order of EndpointOrder
	ResidueAt []End // EndResidue at 5, 10 and 50 mg/L
	First     Endpoint
	Usable    Halves // share of each half's total capacity used at EndCation and EndAnion; 0 for an end that the run did not reach
	Closed    Life   // the closed form of the same case
	Rating    Rating
	Notes     []Note

	Balance float64 // largest share of the equivalents fed that is unaccounted for
	Charge  float64 // largest charge left over in the product, eq/L
	Cells   int     // cells x batches that were equilibrated
}

// End returns one end of life.
func (b *Breakthrough) End(id Endpoint) End {
	for _, e := range b.Ends {
		if e.ID == id {
			return e
		}
	}
	return End{ID: id, Life: unit.Litres(math.Inf(1)), Final: unit.Litres(math.Inf(1))}
}

// Run follows one fill of a vessel to past exhaustion, cell by cell, and
// returns the product against volume with every end of life. It fails on a
// vessel, service or limit that cannot be, on a water without load, and if a
// cell finds no equilibrium; no number is returned then.
func Run(v *Vessel, s Service, e *Ends, w *water.Water, o Options) (*Breakthrough, error) {
	if err := errors.Join(v.Check(), s.Check(), e.Check()); err != nil {
		return nil, err
	}
	o, err := o.filled()
	if err != nil {
		return nil, err
	}
	r, stretches, err := newRun(v, s, w, o)
	if err != nil {
		return nil, err
	}
	b := &Breakthrough{Closed: Closed(v, s, e, w)}
	watch, rows := newWatch(e, w), thinner{total: stretches[len(stretches)-1].until}
	for _, part := range stretches {
		if part.batch != r.batch {
			r.resize(part.batch)
		}
		for r.volume < part.until {
			p, at, err := r.next(r.feed)
			if err != nil {
				return nil, err
			}
			b.Cells += o.Cells
			row := Row{Volume: at, BedVolumes: float64(at) / float64(v.Resin), Meter: p.Meter(e.MeterFactor), Product: p}
			watch.see(&row)
			rows.add(&row)
		}
	}
	b.Rows = rows.rows
	b.Ends, b.ResidueAt = watch.ends()
	b.Balance, b.Charge = r.balance(), r.charge
	b.First = EndAnion
	if b.End(EndCation).Life < b.End(EndAnion).Life {
		b.First = EndCation
	}
	b.Usable = v.used(w, b.End(EndCation).Life, b.End(EndAnion).Life)
	b.Rating = v.rate(w, b.End(EndResidue).Life)
	b.Notes = notes(v, s, e, w, b)
	return b, nil
}

// used returns the share of each half's total capacity that a volume loads; 0
// for a volume never reached.
func (v *Vessel) used(w *water.Water, cation, anion unit.Litres) Halves {
	share := func(load unit.MeqPerL, litres unit.Litres, total float64) float64 {
		if math.IsInf(float64(litres), 1) {
			return 0
		}
		return float64(load) / 1000 * float64(litres) / total
	}
	load, total := w.Load(), v.total()
	return Halves{Cation: share(load.Cation, cation, total.Cation), Anion: share(load.Anion, anion, total.Anion)}
}

// run is one mixed bed on its way to exhaustion.
type run struct {
	species *species
	column  *column
	feed    []float64
	batch   float64 // litres
	volume  float64 // litres passed
	celsius unit.Celsius

	fed, passed []float64 // eq or mol of each species so far
	charge      float64   // largest charge left over in the product, eq/L
}

// stretch is a part of a run with batches of one size, up to a volume.
type stretch struct{ batch, until float64 }

func newRun(v *Vessel, s Service, w *water.Water, o Options) (*run, []stretch, error) {
	in := *w
	in.Temperature = s.Temperature
	load, filled, nf := w.Load(), v.filled(), v.TransferUnits(s)
	short := stoichiometric(filled.Cation, float64(load.Cation))
	long := stoichiometric(filled.Anion, float64(load.Anion))
	if short > long {
		short, long = long, short
	}
	if math.IsInf(short, 1) {
		return nil, nil, fmt.Errorf("the water holds nothing that a bed takes up: there is no life to compute")
	}
	if math.IsInf(long, 1) {
		long = short
	}
	n := float64(o.Cells * o.Batches)
	stretches := []stretch{{short / n, o.Past * short}}
	if long > 3*short {
		stretches = append(stretches, stretch{long / n, o.Past * long})
	} else {
		stretches[0].until = o.Past * long
	}
	present := func(i water.Ion) bool { return w.Ion[i] > 0 }
	sp := mixed(Halves{Cation: float64(v.CationCapacity), Anion: float64(v.AnionCapacity)}, hydrogenAffinity, &in, present)
	per := float64(o.Cells) * stretches[0].batch
	leave := Halves{Cation: math.Exp(-nf.Cation / float64(o.Cells)), Anion: math.Exp(-nf.Anion / float64(o.Cells))}
	r := &run{
		species: sp, feed: sp.feed(&in), batch: stretches[0].batch, celsius: s.Temperature,
		column: newColumn(&sp.system, o.Cells, filled.Cation/per, filled.Anion/per, leave),
	}
	r.fed, r.passed = make([]float64, len(r.feed)), make([]float64, len(r.feed))
	return r, stretches, nil
}

// next passes one batch of water and returns the product, with the volume at
// which the middle of the batch went through.
func (r *run) next(in []float64) (p Product, at unit.Litres, err error) {
	if err := r.column.pass(in, 0); err != nil {
		return p, 0, fmt.Errorf("after %.4g L: %w", r.volume, err)
	}
	at = unit.Litres(r.volume + r.batch/2)
	r.volume += r.batch
	p, charge := r.species.product(r.column.water, r.celsius, r.column.warm[r.column.cells-1].h)
	r.charge = max(r.charge, math.Abs(charge))
	for i, c := range r.column.water {
		r.passed[i] += c * r.batch
		r.fed[i] += in[i] * r.batch
	}
	return p, at, nil
}

// balance returns the largest difference of any species between what was fed
// and what left or stands on the resin, as a share of all that was fed.
func (r *run) balance() float64 {
	var worst, all float64
	for i, fed := range r.fed {
		held := 0.0
		for k := range r.column.cells {
			held += r.column.resin[k*r.column.n+i] * r.batch
		}
		worst = max(worst, math.Abs(fed-r.passed[i]-held))
		all += fed
	}
	return worst / all
}

// resize changes the size of the batches, and with it the litre to which all
// amounts are referred.
func (r *run) resize(batch float64) {
	r.column.scale(r.batch / batch)
	r.batch = batch
}
