package rules

import (
	"forebed/chem/process"
	"forebed/chem/water"
)

// PlanVersion is the version field of the plan document.
const PlanVersion = "forebed.plan/1"

// Band is an uncertain quantity over the draws. P10 and P90 are quantiles of
// that quantity alone. P50 is its value in the central draw, which is the same
// draw for every quantity of a plan, so that loads, volumes and money add up
// at P50 (and need not at P10 and P90).
type Band struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// Status tells how far a plan can be relied on.
type Status string

// The statuses of a plan.
const (
	StatusMeets       Status = "meets_limits"        // meets every must limit in at least 90 % of the draws
	StatusConditional Status = "conditional"         // a must limit is broken in 10 to 50 % of the draws: a test settles it
	StatusNone        Status = "no_admissible_train" // every train breaks a must limit in more than half of the draws
)

// Plan is what the search found, with everything a printed plan says.
type Plan struct {
	Version string `json:"version"`
	Sample  string `json:"sample"` // label of the sample; empty if the report has one only
	Status  Status `json:"status"`

	Cautions []Caution `json:"cautions"` // stop first, then care, then note; ahead of the stages, in documents too

	Stages  []StagePlan `json:"stages"`   // in flow order, the vessel last and not among them
	LeftOut []LeftOut   `json:"left_out"` // kinds looked at and not used

	Water  WaterNote  `json:"water"` // at the well
	Load   LoadPair   `json:"load"`
	Demand Demand     `json:"demand"`
	Vessel VesselNote `json:"vessel"`
	Life   LifePair   `json:"life"`
	Cost   CostPair   `json:"cost"`

	Asks         []Ask         `json:"asks"`
	Checks       []Check       `json:"checks"`
	Assumptions  []Assumption  `json:"assumptions"`
	Alternatives []Alternative `json:"alternatives"`
	Blocked      []Block       `json:"blocked,omitempty"` // with StatusNone: what blocks each near train
	Conditions   []Pending     `json:"conditions,omitempty"`
	Accepts      []Accepted    `json:"accepts,omitempty"` // recommended limits at the vessel that the plan does not keep

	Search Tally `json:"search"`

	// Feeds are the waters that reach the vessel in the central draw. They are
	// for whoever follows a fill cell by cell, and no part of the document.
	Feeds FeedPair `json:"-"`
}

// FeedPair is the water that reaches the vessel, before and after.
type FeedPair struct {
	Untreated, WithPlan water.Water
}

// WaterNote is the key numbers of the water at one place of a train.
type WaterNote struct {
	Hardness Band `json:"hardness_mg_per_l_caco3"`
	Iron     Band `json:"iron_mg_per_l"`             // dissolved and particulate
	Solids   Band `json:"dissolved_solids_mg_per_l"` // sum of constituents
	CO2      Band `json:"carbon_dioxide_mg_per_l"`
	PH       Band `json:"ph"`
}

// Role tells what a stage does for the vessel.
type Role string

// The roles of a stage. A stage that moves the life by less than 2 % does not
// extend it, whatever else it is good for.
const (
	RoleExtends  Role = "extends_life" // the life is at least 2 % longer with it
	RoleProtects Role = "protects"     // it keeps something harmful off the vessel or off a later stage
	RoleShortens Role = "shortens"     // needed, and the life is at least 2 % shorter with it
)

// Mention names one stage of a train.
type Mention struct {
	Kind    process.Kind `json:"kind"`
	Variant string       `json:"variant,omitempty"`
	Title   string       `json:"title"`
}

// StagePlan is one stage of the plan, with its worth. "Without" means the same
// train with this stage alone left out.
type StagePlan struct {
	Mention
	Place         int        `json:"place"` // 1 is nearest the well
	Installed     bool       `json:"installed"`
	Role          Role       `json:"role"`
	Protects      string     `json:"protects,omitempty"` // what from, for RoleProtects
	Size          StageSize  `json:"size"`
	Why           []Reason   `json:"why"`
	LifeWith      Band       `json:"life_with_l"`
	LifeWithout   Band       `json:"life_without_l"`
	LifeRatio     Band       `json:"life_ratio"`     // with over without, draw by draw
	RunningLife   Band       `json:"running_life_l"` // with the stages up to this one
	FirstCost     Band       `json:"first_cost"`     // in the currency of the plan
	CostPerYear   Band       `json:"cost_per_year"`
	SavingPerYear Band       `json:"saving_per_year"`            // running costs of the train without it, less those with it
	BreakEven     *float64   `json:"break_even_years,omitempty"` // at P50; nil if it never pays for itself
	Upkeep        []Task     `json:"upkeep"`
	UpkeepHours   float64    `json:"upkeep_h_per_year"`
	WasteWater    Band       `json:"waste_water_l_per_year"`
	Notes         []NoteText `json:"notes"`
	Water         WaterNote  `json:"water"` // that leaves it
}

// Accepted is a recommended limit at the vessel that the plan does not keep.
type Accepted struct {
	Rule    string `json:"rule"`
	Title   string `json:"title"`
	Because string `json:"because"`
	Working string `json:"working"` // the condition with the numbers put in
	Remedy  string `json:"remedy"`
	Source  string `json:"source"`
}

// StageSize is what to buy.
type StageSize struct {
	Text        string  `json:"text"`
	MediumL     float64 `json:"medium_l"`
	DropKPa     float64 `json:"drop_kpa"`
	BackwashLpm float64 `json:"backwash_l_per_min"`
	Units       int     `json:"units"`
	PriceKey    string  `json:"price_key"` // under which a rig document states its price in prices: equipment
}

// NoteText is a finding of a stage on this water.
type NoteText struct {
	ID    string  `json:"id"`
	Text  string  `json:"text"`
	Share float64 `json:"share_of_draws"` // 0 to 1
}

// Reason is why something stands in the plan: the rule that fired, with the
// numbers put in.
type Reason struct {
	Rule     string `json:"rule"`
	Level    string `json:"level"`
	Sentence string `json:"sentence"`
	Working  string `json:"working"` // the condition with thresholds and values
	Source   string `json:"source"`
}

// LeftOut is a kind of stage that was looked at and is not in the plan.
type LeftOut struct {
	Kind      process.Kind `json:"kind"`
	Title     string       `json:"title"`
	Why       string       `json:"why"`
	LifeRatio *Band        `json:"life_ratio,omitempty"`       // life with it added over life of the plan; nil if it fits nowhere
	ExtraCost *Band        `json:"extra_horizon,omitempty"`    // what adding it would cost over the horizon
	ExtraTask *float64     `json:"extra_h_per_year,omitempty"` // upkeep it would add
}

// LoadPair is the load on the halves of the bed, before and after.
type LoadPair struct {
	Untreated LoadNote `json:"untreated"`
	WithPlan  LoadNote `json:"with_plan"`
}

// LoadNote is a load and the shares of the anion half that no pen sees.
type LoadNote struct {
	Cation      Band `json:"cation_meq_per_l"`
	Anion       Band `json:"anion_meq_per_l"`
	Bicarbonate Band `json:"bicarbonate_meq_per_l"` // HCO3 and CO3, one a mole
	CO2         Band `json:"carbon_dioxide_meq_per_l"`
	Silica      Band `json:"silica_meq_per_l"`
	StrongAnion Band `json:"strong_anions_meq_per_l"` // Cl, SO4, NO3, F
	Hardness    Band `json:"hardness_mg_per_l_caco3"`
	PH          Band `json:"ph"`
}

// Demand is the arithmetic of the season.
type Demand struct {
	RinseL        float64 `json:"rinse_l"`
	RinsesPerWeek float64 `json:"rinses_per_week"`
	WeeksPerYear  float64 `json:"weeks_per_year"`
	RinsesPerYear float64 `json:"rinses_per_year"`
	PeakLpm       float64 `json:"peak_flow_l_per_min"` // through the vessel
	YearL         float64 `json:"year_l"`              // through the vessel, first year
	PlainL        float64 `json:"plain_year_l"`        // plain filtered water drawn beside it, first year
	HorizonL      float64 `json:"horizon_l"`           // through the vessel, growth included
	Text          string  `json:"text"`                // "26 weeks x 3 rinses x 8 gal = 624 gal a season"
}

// VesselNote is the vessel as the plan took it.
type VesselNote struct {
	Text          string   `json:"text"`
	Kind          string   `json:"kind"`
	ResinL        float64  `json:"resin_l"`
	UsableCation  Band     `json:"usable_cation"` // share of the total capacity that serves before the end
	UsableAnion   Band     `json:"usable_anion"`
	KineticCation Band     `json:"kinetic_cation"`
	KineticAnion  Band     `json:"kinetic_anion"`
	BedVolumesPH  float64  `json:"service_bed_volumes_per_h"`
	KgrPerFt3     Band     `json:"kilograins_per_ft3"` // of total cations as CaCO3, for comparison with trade ratings only
	PressureLeft  float64  `json:"pressure_left_kpa"`  // at the nozzle at the peak flow, stages of the plan (of the nearest train, if none is admissible) clean; not above 0 if the flow never comes
	DeliversLpm   float64  `json:"delivers_l_per_min"` // largest flow up to the peak flow that leaves 20 psi at the nozzle, or half of the supply's pressure if less
	Notes         []string `json:"notes,omitempty"`    // what about its depth and flow is out of the ordinary, or outside of what the model was checked for
}

// LifePair is the life of one fill, before and after.
type LifePair struct {
	Untreated LifeNote `json:"untreated"`
	WithPlan  LifeNote `json:"with_plan"`
	Ratio     Band     `json:"ratio"` // residue life with the plan over untreated
}

// LifeNote is the life of one fill by every endpoint of the closed form.
type LifeNote struct {
	Residue       Band         `json:"residue_l"`
	ResidueAt     []ResidueEnd `json:"residue_at"` // at 5, 10 and 50 mg/L
	Silica        Band         `json:"silica_l"`
	Anion         Band         `json:"anion_capacity_l"`
	Cation        Band         `json:"cation_capacity_l"`
	FirstHalf     string       `json:"first_half"`                       // "anion" or "cation", in the central draw
	FirstShare    float64      `json:"first_half_share"`                 // share of draws in which that half ends first
	PenPPM        *Band        `json:"pen_ppm_at_residue_end,omitempty"` // what the pen reads when the residue passes the limit
	Back          *Band        `json:"back_within_limit_l,omitempty"`    // where a band of silica has passed and the product is fit again
	Final         *Band        `json:"final_l,omitempty"`                // the life if that band is run to waste
	PenSays       string       `json:"pen_says"`
	RinsesPerFill Band         `json:"rinses_per_fill"`
	MonthsPerFill Band         `json:"months_of_use_per_fill"`
	FillsPerYear  Band         `json:"fills_per_year"`
	Text          string       `json:"text"`                         // "624 gal a season / 428 gal a fill = 1.5 fills a season"
	Cells         []CellEnd    `json:"cells_central_draw,omitempty"` // ends by the cell model, if it was run
}

// CellEnd is one end of life by the cell model, on the central draw.
type CellEnd struct {
	End    string   `json:"end"`
	Limit  float64  `json:"limit"`             // mg/L, ppm, pH or a share, by the end
	Life   *float64 `json:"life_l"`            // first crossing; null if the run did not reach it
	PenPPM *float64 `json:"pen_ppm,omitempty"` // what the pen reads at that moment
	Back   *float64 `json:"back_within_limit_l,omitempty"`
	Final  *float64 `json:"final_l,omitempty"` // the crossing after which the product stays beyond the limit
}

// ResidueEnd is the life to one limit of dry residue.
type ResidueEnd struct {
	Limit float64 `json:"limit_mg_per_l"`
	Life  Band    `json:"life_l"`
}

// CostPair is the money, without pretreatment and with the plan.
type CostPair struct {
	Currency     string   `json:"currency"`
	PriceYear    int      `json:"price_year"`
	HorizonYears int      `json:"horizon_years"`
	Untreated    CostNote `json:"untreated"`
	WithPlan     CostNote `json:"with_plan"`
	Saving       Band     `json:"saving_over_horizon"`
	CheaperShare float64  `json:"cheaper_share"` // share of draws in which the plan costs less than no pretreatment
}

// CostNote is what one train costs, vessel included, in the currency of the plan.
type CostNote struct {
	First       Band       `json:"first_cost"`
	PerYear     Band       `json:"cost_per_year"` // running costs, mean over the horizon
	Horizon     Band       `json:"cost_over_horizon"`
	PerRinse    Band       `json:"cost_per_rinse"`
	Parts       []CostPart `json:"parts"`
	UpkeepHours Band       `json:"upkeep_h_per_year"`
	WasteWater  Band       `json:"waste_water_l_per_year"`
	ResinUsed   Band       `json:"resin_l_per_year"`
	ResinDumped Band       `json:"resin_to_landfill_l_per_year"`
}

// CostPart is one line of the account. In every draw the parts add up to the
// total to the cent.
type CostPart struct {
	Item    string `json:"item"`
	First   Band   `json:"first_cost"`
	Horizon Band   `json:"running_over_horizon"`
}

// Task is one recurring task.
type Task struct {
	Task         string  `json:"task"`
	EveryMonths  float64 `json:"every_months"`
	Trigger      string  `json:"trigger"`
	HoursPerTime float64 `json:"h_each"`
	Source       string  `json:"source"`
}

// Caution is something that can hurt people, plumbing or resin.
type Caution struct {
	Topic  string `json:"topic"`
	Level  string `json:"level"` // stop, care or note
	Text   string `json:"text"`
	Remedy string `json:"remedy,omitempty"`
	Rule   string `json:"rule"`
	At     Scope  `json:"at,omitempty"` // what it is about: report, site, vessel, or a kind of stage
	Source string `json:"source"`
}

// Ask is a test to make next, and what it would settle.
type Ask struct {
	Analyte string `json:"analyte"`
	Why     string `json:"why"`
	Rule    string `json:"rule"`
	Source  string `json:"source"`
}

// Check is one check of the analysis.
type Check struct {
	Code   string `json:"code"`
	Level  string `json:"level"`
	Text   string `json:"text"`
	Widens string `json:"widens,omitempty"`
}

// Assumption is a value that nobody stated.
type Assumption struct {
	Field string `json:"field"` // place in the rig document, or "water", "vessel", "prices"
	Text  string `json:"text"`
	Value string `json:"value"`
	Basis string `json:"basis"` // source, or "common practice, no source"
}

// Alternative is another train, beside the plan.
type Alternative struct {
	Name         string    `json:"name"` // least_cost, least_upkeep, longest_life, none, reverse_osmosis_without_vessel, buy_water, exchange_service
	Chosen       bool      `json:"chosen"`
	Stages       []Mention `json:"stages"`
	Status       Status    `json:"status"`
	Text         string    `json:"text"`
	Life         *Band     `json:"life_l,omitempty"`     // nil where there is no vessel
	LifeRatio    *Band     `json:"life_ratio,omitempty"` // over untreated
	First        Band      `json:"first_cost"`
	PerYear      Band      `json:"cost_per_year"`
	Horizon      Band      `json:"cost_over_horizon"`
	PerRinse     Band      `json:"cost_per_rinse"`
	UpkeepHours  Band      `json:"upkeep_h_per_year"`
	WasteWater   Band      `json:"waste_water_l_per_year"`
	FillsPerYear *Band     `json:"fills_per_year,omitempty"`
	CheaperShare float64   `json:"cheaper_share"` // share of draws in which it costs less than the plan
	Blocks       []Block   `json:"blocks,omitempty"`
}

// Block is a must limit that a train breaks.
type Block struct {
	Stages   []Mention `json:"stages,omitempty"` // of the near train
	Rule     string    `json:"rule"`
	At       string    `json:"at"` // "vessel" or the kind of the stage
	Sentence string    `json:"sentence"`
	Working  string    `json:"working"`
	Share    float64   `json:"share_of_draws"`
	Unblock  string    `json:"unblock"`
	Source   string    `json:"source"`
}

// Pending is a must limit that holds in some draws only, and the test that
// settles whether it holds.
type Pending struct {
	Rule     string  `json:"rule"`
	At       string  `json:"at"`
	Sentence string  `json:"sentence"`
	Share    float64 `json:"share_of_draws"` // in which it is broken
	Settles  string  `json:"settled_by"`
}

// Tally counts the work of the search.
type Tally struct {
	Draws      int    `json:"draws"`
	Seed       uint64 `json:"seed"`
	Trains     int    `json:"trains_enumerated"`
	Screened   int    `json:"trains_screened"`   // in the tree
	Evaluated  int    `json:"trains_evaluated"`  // on all draws
	Admissible int    `json:"trains_admissible"` // of those evaluated
}
