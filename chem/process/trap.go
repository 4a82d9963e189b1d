package process

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// trap is an organics trap: a strong-base anion resin in the chloride form
// that holds tannin and other organics, regenerated with brine. Sulfate,
// nitrate and part of the bicarbonate leave for chloride, equivalent for
// equivalent; the load on a mixed bed stays what it was (ledger E75).
type trap struct{ facts *Facts }

var (
	trapTannin = Figure{"trap_tannin", 0.85, 0.5, 0.95, "share", "of tannin that a trap in good order holds", practice}
	trapCarbon = Figure{"trap_organics", 0.6, 0.3, 0.8, "share", "of organic carbon that a trap in good order holds", practice}
	trapStrong = Figure{"trap_strong", 0.9, 0.5, 0.98, "share", "of sulfate and nitrate that leaves for chloride between frequent regenerations",
		Source{"E75", "trade note on chloride: chloride rises; the share is common practice", CommonPractice}}
	trapBicarbonate = Figure{"trap_bicarbonate", 0.3, 0, 0.6, "share", "of bicarbonate that does so, mean of a run",
		Source{"E75", "treatment ledger section 5: part of HCO3; the share is common practice", CommonPractice}}
	trapSalt = Figure{"trap_salt", 10, 8, 15, "lb/ft3", "for each regeneration", Source{"E76", "common practice", CommonPractice}}
	trapDays = Figure{"trap_days", 2, 1, 3, "days of use", "between regenerations", Source{"E76", "common practice", CommonPractice}}
	trapFlow = Figure{"trap_flow", 5, 3, 7, "gpm/ft3", "tannin resin", Source{"E76", "common practice", CommonPractice}}
)

var trapBed = medium{
	name: "organics-trap resin", grain: 0.6e-3, void: 0.38, density: 0.7,
	service:  Figure{"trap_service", 6, 4, 7, "gpm/ft2", "organics-trap resin", practice},
	backwash: Figure{"trap_backwash", 2.5, 2, 3, "gpm/ft2", "strong-base anion resin, which is light", practice},
}

var organicsTrap = trap{trapBed.rated(&Facts{
	Windows: []Window{
		{AnyIron, math.Inf(-1), 0.3, Fouls, "iron with organics fouls the resin for good", practice},
		{FreeChlorine, math.Inf(-1), 0.1, Damages, "chlorine eats the anion resin", Source{"D02 F-OX-SBA", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
		{Turbidity, math.Inf(-1), 5, Fouls, "silt plugs the resin", Source{"D11", "Ten States Standards sec. 4.4", Verified}},
		{Temperature, 1, 40, Damages, "ice cracks tank and beads", practice},
	},
	Protects: []Protection{
		{"", "organics that foul the anion half", Source{"D14 D15", "Abrams, Studies in Environ. Sci. 19 (1982), abstract: mixed beds suffer more than separate beds", Verified}},
		{ReverseOsmosis, "organics that foul the membrane", practice},
	},
	Needs:  NeedsDrain | NeedsPower | NeedsFrostFree | NeedsSalt,
	Claim:  "takes out tannin and part of the organics, and puts chloride in the place of sulfate and nitrate; the load on a mixed bed stays the same",
	Source: Source{"E75 E76", "trade note on chloride", Verified},
})}

func (t *trap) Kind() Kind      { return OrganicsTrap }
func (t *trap) Variant() string { return "chloride_form" }
func (t *trap) Title() string   { return "organics trap, anion resin regenerated with salt" }
func (t *trap) Facts() *Facts   { return t.facts }

func (t *trap) Apply(in *water.Water) (Outcome, error) {
	o := t.facts.enter(in)
	w := &o.Out
	w.Matter.Tannin *= unit.MgPerL(1 - trapTannin.Value)
	w.Matter.OrganicCarbon *= unit.MgPerL(1 - trapCarbon.Value)
	strong, weak := unit.MmolPerL(trapStrong.Value), unit.MmolPerL(trapBicarbonate.Value)
	w.Ion[water.Chloride] += 2*in.Ion[water.Sulfate]*strong + in.Ion[water.Nitrate]*strong + in.Ion[water.Bicarbonate]*weak
	w.Ion[water.Sulfate] *= 1 - strong
	w.Ion[water.Nitrate] *= 1 - strong
	return o, o.settle(t, in.TotalCarbon()-in.Ion[water.Bicarbonate]*weak)
}

func (t *trap) Size(in *water.Water, d Duty) Size {
	z := trapBed.fill(d, in.Temperature, unit.CubicFeet(d.PeakFlow.GallonsPerMinute()/trapFlow.Value))
	z.Interval = trapDays.Value
	z.Feed = d
	times := math.Ceil(d.DaysInUse / z.Interval)
	ft3 := z.Medium.CubicFeet()
	z.Waste = unit.Litres(softenerDrain.Value * litresPerGallon * ft3 * times)
	z.Salt = unit.Pounds(trapSalt.Value * ft3 * times)
	z.Upkeep = []Upkeep{
		{Task: "carry salt", Every: 12 / max(1, math.Ceil(trapSalt.Value*ft3*times/saltBag.Value)), Hours: 0.2, Source: practice},
		{Task: "look at the colour of the water behind the trap", Every: 1, Hours: 0.1, Trigger: "tea colour", Source: practice},
		{Task: "replace the resin", Every: 60, Hours: 3, Part: "trap_resin", Parts: ft3, Source: practice},
	}
	return z
}
