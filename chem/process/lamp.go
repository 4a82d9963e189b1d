package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// lamp is an ultraviolet disinfector. It changes no ion; the 185 nm lamps of
// ultrapure plants are another thing.
type lamp struct{ facts *Facts }

var (
	lampPower  = Figure{"uv_power", 10, 6, 15, "W per gpm", "lamp and ballast at 40 mJ/cm2", practice}
	lampDrop   = Figure{"uv_drop", 3, 1, 5, "psi", "through the lamp's chamber at its rated flow", practice}
	lampMonths = Figure{"uv_lamp_months", 12, 9, 24, "months", "life of a lamp that stays lit", practice}
)

var ultraviolet = lamp{&Facts{
	Windows: []Window{
		{AnyIron, math.Inf(-1), 0.3, Reduced, "iron shades the lamp and coats its sleeve", lampSource},
		{DissolvedManganese, math.Inf(-1), 0.05, Fouls, "manganese coats the sleeve", lampSource},
		{Hardness, math.Inf(-1), 7 * mgPerGrain, Fouls, "hardness scales the warm sleeve", lampSource},
		{Turbidity, math.Inf(-1), 1, Reduced, "particles shade microbes", practice},
		{Tannin, math.Inf(-1), 0.1, Reduced, "colour takes up the light", practice},
		{Temperature, 1, 40, Damages, "ice cracks the sleeve", practice},
	},
	Protects: []Protection{{"", "bacteria that grow into slime in resin and tanks", practice}},
	Needs:    NeedsPower | NeedsFrostFree | NeedsIndoors,
	Claim:    "kills microbes that pass in clear water, and changes nothing else",
	Source:   lampSource,
}}

var lampSource = Source{"E77", "UV dose 40 mJ/cm2; Fe < 0.3, Mn < 0.05, hardness < 7 gpg", FromMemory}

func (l *lamp) Kind() Kind      { return Disinfection }
func (l *lamp) Variant() string { return "uv" }
func (l *lamp) Title() string   { return "ultraviolet lamp, 40 mJ/cm2" }
func (l *lamp) Facts() *Facts   { return l.facts }

func (l *lamp) Apply(in *water.Water) (Outcome, error) { return l.facts.enter(in), nil }

func (l *lamp) Size(_ *water.Water, d Duty) Size {
	gpm := d.PeakFlow.GallonsPerMinute()
	z := Size{Units: 1, Class: "uv_15gpm", Feed: d, Drop: unit.PSI(lampDrop.Value)}
	for _, c := range [...]float64{3, 6, 12} {
		if gpm <= c {
			z.Class = fmt.Sprintf("uv_%ggpm", c)
			break
		}
	}
	z.Units = int(max(1, math.Ceil(gpm/15)))
	if z.Units > mostUnits {
		z.Notes |= NoteManyUnits
	}
	z.Text = fmt.Sprintf("ultraviolet lamp for %.0f gpm", math.Ceil(gpm))
	// The lamp stays lit through the season: a cold lamp does not disinfect.
	z.Energy = lampPower.Value * gpm / 1000 * 24 * d.DaysInUse
	z.Upkeep = []Upkeep{
		{Task: "replace the lamp and clean the sleeve", Every: lampMonths.Value, Hours: 0.5, Part: "uv_lamp", Parts: float64(z.Units), Source: practice},
	}
	return z
}
