package analysis

import (
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// Version is the version field of the document.
const Version = "forebed.analysis/1"

// Document is what a report says.
type Document struct {
	Version  string    `json:"version"`
	Samples  []Sample  `json:"samples"`
	Warnings []Warning `json:"warnings"`
}

// Sample is one bottle: one place, one time, one stage of treatment.
type Sample struct {
	Label   string   `json:"label"`            // the report's name of the sample; empty if it has one only
	Date    string   `json:"date,omitempty"`   // as 2024-06-05, if stated
	Source  string   `json:"source,omitempty"` // "well", "after softener" ..., if stated
	Results []Result `json:"results"`
}

// Fraction tells whether a metal was measured with or without its particles.
type Fraction string

// The fractions. NotStated is null in JSON.
const (
	NotStated Fraction = ""
	Total     Fraction = "total"
	Dissolved Fraction = "dissolved"
)

// Result is one reported result, as reported. Nil pointers are null in JSON:
// not stated, or not applicable.
type Result struct {
	Analyte   analyte.ID    `json:"analyte"`
	Fraction  Fraction      `json:"fraction"`
	Value     *float64      `json:"value"`     // the number reported, in Unit and Basis
	Low       *float64      `json:"low"`       // lower end of a range or open end
	High      *float64      `json:"high"`      // upper end of a range or open end
	Nondetect bool          `json:"nondetect"` // below Limit; Value is nil
	Limit     *float64      `json:"limit"`     // censoring limit of a non-detect, in Unit
	Unit      unit.Unit     `json:"unit"`      // empty if the report states none
	Basis     analyte.Basis `json:"basis"`     // empty if not stated or the substance itself
	AsWritten string        `json:"as_written"`
	Line      int           `json:"line,omitempty"` // 1-based line of the input; 0 when unknown
	Note      string        `json:"note,omitempty"`
	Warnings  []Warning     `json:"warnings,omitempty"` // doubts about this result
}

// Warning is a doubt, with a code that programs may rely on and a sentence
// for people.
type Warning struct {
	Code     string     `json:"code"`
	Message  string     `json:"message"`
	Line     int        `json:"line,omitempty"`
	Analyte  analyte.ID `json:"analyte,omitempty"`
	Readings []Reading  `json:"readings,omitempty"`
}

// Reading is one of the things that a doubtful result may mean, and the flag
// of the command line that settles it so.
type Reading struct {
	Flag  string `json:"flag"`  // "--basis nitrate=N", "--set hardness=25gpg"
	Means string `json:"means"` // "10 mg/L as N, which is 44 mg/L of nitrate"
}

// Number returns a pointer to v, for building results.
func Number(v float64) *float64 { return &v }
