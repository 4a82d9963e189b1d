package labreport

import (
	"fmt"
	"strings"
	"unicode"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
)

// The words that tell where or with what a figure was read, in the languages
// of the survey, and the note that a result gets from them. A laboratory's pH
// hides carbon dioxide that has escaped, and a pen's solids are conductivity,
// so package water asks for these notes.
var readWith = map[string]string{
	"field": noteField, "onsite": noteField, "wellhead": noteField, "situ": noteField, "flowcell": noteField,
	"feld": noteField, "feldmessung": noteField, "vorort": noteField, "terrain": noteField, "veld": noteField, "fält": noteField, "campo": noteField, "terenie": noteField,
	"lab": noteLaboratory, "laboratory": noteLaboratory, "labor": noteLaboratory, "laboratoire": noteLaboratory, "laboratorium": noteLaboratory, "laboratorio": noteLaboratory,
	"pen": notePen, "meter": notePen, "handheld": notePen,
}

// Notes of readWith.
const (
	noteField      = "measured in the field"
	noteLaboratory = "measured in the laboratory"
	notePen        = "read with a pen"
)

// telling are the analytes for which it matters where they were read.
var telling = map[analyte.ID]bool{"ph": true, "conductivity": true, "alkalinity": true, "temperature": true, "tds": true, "carbon_dioxide": true}

// headWords is how many words a heading has at most: in a longer line the word
// "laboratory" names a house and not a place of measurement.
const headWords = 4

// textByLine returns the lines of the input by their number.
func (r *reader) textByLine() map[int]string {
	text := make(map[int]string, len(r.src.rows))
	for _, row := range r.src.rows {
		text[row.line] = row.text
	}
	return text
}

// notePlaces notes where each telling result was read: by a word of its own
// line, else by the heading above it.
func (r *reader) notePlaces(doc *analysis.Document, text map[int]string) {
	heading := make(map[int]string) // by line of the input
	note := ""
	for i := range r.fate {
		f := &r.fate[i]
		if f.What != HasResult && !r.lines[i].blank {
			switch n, words := wordOfPlace(r.src.rows[i].text); {
			case words <= headWords && n != "":
				note = n
			case words <= headWords && words > 0 && f.What == Explains:
				note = "" // another heading
			}
		}
		heading[f.Line] = note
	}
	for i := range doc.Samples {
		for k := range doc.Samples[i].Results {
			res := &doc.Samples[i].Results[k]
			if !telling[res.Analyte] || res.Note != "" || res.Line == 0 {
				continue
			}
			if own, _ := wordOfPlace(text[res.Line]); own != "" && (own != notePen || res.Analyte == "tds") {
				res.Note = own
			} else if n := heading[res.Line]; n != notePen || res.Analyte == "tds" {
				res.Note = n
			}
		}
	}
}

// nameUnknownUnits says which word behind a number was taken for a unit and is
// none: a word with a slash or a percent sign in it.
func nameUnknownUnits(doc *analysis.Document, text map[int]string) {
	for i := range doc.Samples {
		for k := range doc.Samples[i].Results {
			res := &doc.Samples[i].Results[k]
			for n := range res.Warnings {
				if w := &res.Warnings[n]; w.Code == "unit_missing" {
					if word := wordAsUnit(text[res.Line], res.AsWritten); word != "" {
						w.Message = fmt.Sprintf("%q is no unit that is known here", word)
					}
				}
			}
		}
	}
}

// wordAsUnit returns the word that stands behind a token on its line, if it
// looks like a unit.
func wordAsUnit(line, token string) string {
	_, rest, found := strings.Cut(line, token)
	words := strings.Fields(rest)
	if !found || strings.HasPrefix(rest, ",") || len(words) == 0 || len(words[0]) > 16 || !strings.ContainsAny(words[0], "/%") {
		return ""
	}
	return words[0]
}

// wordOfPlace returns the note of the first word of a line that tells where a
// figure was read, and how many words the line has.
func wordOfPlace(line string) (note string, words int) {
	for w := range strings.FieldsFuncSeq(strings.ToLower(line), func(c rune) bool { return !unicode.IsLetter(c) }) {
		words++
		if n := readWith[w]; n != "" && note == "" {
			note = n
		}
	}
	return note, words
}
