package bed

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Rating is a life in the words of the trade: kilograins of total cations as
// CaCO3 per cubic foot of mixed resin. It is a read-out, never an input: a
// trade rating silently absorbs the carbon dioxide and silica of some average
// water (treatment ledger 1.1).
type Rating struct {
	KgrPerFt3 float64 // this bed on this water, to the residue end; 0 if that is not reached
	Trade     float64 // what the trade rates such a bed at
	Limit     float64 // what the lesser half could hold in all, same unit
}

// Trade ratings of a mixed bed, kgr/ft3. Source: ledger A08 and A09 (seen: a
// trade list).
const (
	TradeNew         = 10.0
	TradeRegenerated = 9.0
)

// EqPerKgrFt3 is one kilograin per cubic foot as CaCO3 in eq/L: 64.79891 g
// over 50.043 g/eq over 28.3168 L. Source: ledger U01.
const EqPerKgrFt3 = 64.79891 / 50.043 / 28.316846592

// Grains returns an amount of load in grains as CaCO3.
func Grains(eq float64) float64 { return eq * 50.043 / 0.06479891 }

func (v *Vessel) rate(w *water.Water, life unit.Litres) Rating {
	t := v.total()
	r := Rating{Trade: TradeNew, Limit: min(t.Cation, t.Anion) / float64(v.Resin) / EqPerKgrFt3}
	if !math.IsInf(float64(life), 1) {
		r.KgrPerFt3 = float64(w.Load().Cation) / 1000 * float64(life) / float64(v.Resin) / EqPerKgrFt3
	}
	return r
}

// RatedVolume returns the water that a bed of a capacity in eq per litre of
// resin treats at a load: the arithmetic of every trade rating, which knows
// neither kinetics nor which half runs out.
func RatedVolume(resin unit.Litres, capacity unit.EqPerL, load unit.MeqPerL) unit.Litres {
	return unit.Litres(volume(1000*float64(resin)*float64(capacity), float64(load)))
}

// ContactTime returns the minutes in which the flow fills the empty bed.
func (v *Vessel) ContactTime(s Service) float64 { return float64(v.Resin) / float64(s.Flow) }
