package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// degasser is a packed tower with a blower over a break tank: carbon dioxide,
// and hydrogen sulfide where it is a gas, go out with the air. Ions stay, the
// pH rises and oxygen comes in. It may stand before or after reverse osmosis.
type degasser struct{ facts *Facts }

var (
	degasResidual = Figure{"degasser_residual", 5, 5, 10, "mg/L CO2", "that a forced-draft degasser leaves",
		Source{"E70", "degasser supplier pages: residual not over 5 mg/L", Verified}}
	degasSulfide = Figure{"degasser_sulfide", 0.9, 0.7, 0.98, "share", "of un-ionised hydrogen sulfide that leaves",
		Source{"E72", "web note following extension advice: pH below 7 helps; the share is common practice", CommonPractice}}
	degasOxygen = Figure{"degasser_oxygen", 0.95, 0.8, 1, "share", "of air saturation behind a packed tower", practice}
	blowerPower = Figure{"blower_power", 0.1, 0.05, 0.3, "kWh per 1,000 gal", "blower of a small tower", practice}
	breakTank   = Figure{"break_tank", 10, 5, 30, "min", "of peak flow held under the tower", practice}
)

var degasserTower = degasser{&Facts{
	Windows: []Window{
		{CarbonDioxide, degasResidual.Value, math.Inf(1), Refuses, "there is no carbon dioxide to take out", degasResidual.Source},
		{DissolvedIron, math.Inf(-1), 0.3, Fouls, "air turns iron into rust on the packing and in the tank", Source{"E70", "treatment ledger section 5: adds O2, so iron must be filtered after it", CommonPractice}},
		{Sulfide, math.Inf(-1), sulfideByAir.Value, Reduced, "more sulfide than air takes out, and the gas is a danger", sulfideByAir.Source},
		{Temperature, 1, 40, Damages, "tower and tank freeze", practice},
	},
	Protects: []Protection{{"", "carbon dioxide, which uses up anion resin one mole for one equivalent", Source{"A33 F04 F06", "manufacturer's table of load factors", Verified}}},
	Needs:    NeedsPower | NeedsFrostFree | NeedsIndoors | NeedsVentilation | NeedsTank,
	Claim:    "lets carbon dioxide go to about 5 mg/L and leaves every ion; the pH rises",
	Source:   Source{"E70", "degasser supplier pages", Verified},
}}

func (g *degasser) Kind() Kind      { return Degasser }
func (g *degasser) Variant() string { return "packed_tower" }
func (g *degasser) Title() string   { return "packed degassing tower with break tank and repump" }
func (g *degasser) Facts() *Facts   { return g.facts }

func (g *degasser) Apply(in *water.Water) (Outcome, error) {
	o := g.facts.enter(in)
	o.Use.Energy = pumpEnergy(unit.PSI(repumpPressure.Value)) + blowerPower.Value/(1000*litresPerGallon)
	w := &o.Out
	w.Sulfide *= unit.MmolPerL(1 - degasSulfide.Value*unionised(in))
	w.Matter.Oxygen = max(w.Matter.Oxygen, OxygenSaturation(in.Temperature)*unit.MgPerL(degasOxygen.Value))
	w.Matter.Unknown &^= water.UnknownOxygen
	if w.Sulfide != in.Sulfide {
		if err := o.settle(g, in.TotalCarbon()); err != nil {
			return o, err
		}
	}
	out, err := StripTo(w, unit.MgPerL(degasResidual.Value))
	if err != nil {
		return o, fmt.Errorf("%s: %w", g.Title(), err)
	}
	o.Out = out
	return o, nil
}

// StripTo takes carbon dioxide out of a water until so much is left, in mg/L
// as CO2, while part of the bicarbonate makes up for it; a water that has less
// comes back as it was.
func StripTo(in *water.Water, left unit.MgPerL) (water.Water, error) {
	target := mmol(left, molarCO2)
	if in.CO2 <= target {
		return *in, nil
	}
	return in.WithCO2(target)
}

func (g *degasser) Size(_ *water.Water, d Duty) Size {
	z := Size{Units: 1, Tank: unit.Litres(float64(d.PeakFlow) * breakTank.Value), Repumped: true, Feed: d}
	z.Class = tankClass(z.Tank)
	z.Text = "packed tower with blower over a break tank of " + volume(z.Tank) + ", level switch and repump"
	z.Upkeep = []Upkeep{
		{Task: "clean the air filter and the break tank", Every: 6, Hours: 1, Source: practice},
		{Task: "replace blower and repump", Every: 84, Hours: 3, Part: "repump", Parts: 1, Source: practice},
	}
	return z
}
