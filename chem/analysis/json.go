package analysis

import (
	"encoding/json"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// wire is Result as it stands in JSON: what is not stated is null.
type wire struct {
	Analyte   analyte.ID     `json:"analyte"`
	Fraction  *Fraction      `json:"fraction"`
	Value     *float64       `json:"value"`
	Low       *float64       `json:"low"`
	High      *float64       `json:"high"`
	Nondetect bool           `json:"nondetect"`
	Limit     *float64       `json:"limit"`
	Unit      *unit.Unit     `json:"unit"`
	Basis     *analyte.Basis `json:"basis"`
	AsWritten string         `json:"as_written"`
	Line      int            `json:"line,omitempty"`
	Note      string         `json:"note,omitempty"`
	Warnings  []Warning      `json:"warnings,omitempty"`
}

// MarshalJSON writes what the report does not state as null.
func (r Result) MarshalJSON() ([]byte, error) {
	w := wire{Analyte: r.Analyte, Value: r.Value, Low: r.Low, High: r.High, Nondetect: r.Nondetect, Limit: r.Limit,
		AsWritten: r.AsWritten, Line: r.Line, Note: r.Note, Warnings: r.Warnings,
		Fraction: orNull(r.Fraction), Unit: orNull(r.Unit), Basis: orNull(r.Basis)}
	return json.Marshal(w)
}

// UnmarshalJSON reads null as not stated.
func (r *Result) UnmarshalJSON(b []byte) error {
	var w wire
	if err := json.Unmarshal(b, &w); err != nil {
		return err
	}
	*r = Result{Analyte: w.Analyte, Value: w.Value, Low: w.Low, High: w.High, Nondetect: w.Nondetect, Limit: w.Limit,
		AsWritten: w.AsWritten, Line: w.Line, Note: w.Note, Warnings: w.Warnings,
		Fraction: orEmpty(w.Fraction), Unit: orEmpty(w.Unit), Basis: orEmpty(w.Basis)}
	return nil
}

func orNull[T ~string](s T) *T {
	if s == "" {
		return nil
	}
	return &s
}

func orEmpty[T ~string](s *T) T {
	if s == nil {
		return ""
	}
	return *s
}
