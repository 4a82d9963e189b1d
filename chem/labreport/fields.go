package labreport

import (
	"slices"
	"strings"
	"sync"
	"unicode"
)

// headingField tells what the column of a table with one result a row holds:
// by its whole heading, else by the words of it.
func headingField(cell string) (field, bool) {
	if cell == "" || len(cell) > longestHeading || opensNumber(cell) {
		return 0, false
	}
	if f, ok := fieldHeadings[foldHeading(cell)]; ok {
		return f, true
	}
	words := headingWords(cell)
	if len(words) < 2 || len(words) > 6 || slices.ContainsFunc(words, func(w string) bool { return !headingVocabulary()[w] }) {
		return 0, false
	}
	for _, h := range wordedHeadings {
		if h.matches(words) {
			return h.field, true
		}
	}
	return 0, false
}

// longestHeading bounds the headings that are told by their words; sentences
// are none.
const longestHeading = 80

// headingVocabulary holds every word that a worded heading may be made of.
var headingVocabulary = sync.OnceValue(func() map[string]bool {
	words := map[string]bool{}
	for _, h := range wordedHeadings {
		for _, group := range append(slices.Clone(h.needs), h.beside) {
			for _, w := range group {
				words[w] = true
			}
		}
	}
	return words
})

// wordedHeading names a column by its words: one of each group of needs must
// stand in it, and nothing but needs and beside.
type wordedHeading struct {
	field  field
	needs  [][]string
	beside []string
}

func (h wordedHeading) matches(words []string) bool {
	for _, group := range h.needs {
		if !slices.ContainsFunc(group, func(w string) bool { return slices.Contains(words, w) }) {
			return false
		}
	}
	for _, w := range words {
		if !slices.Contains(h.beside, w) && !slices.ContainsFunc(h.needs, func(g []string) bool { return slices.Contains(g, w) }) {
			return false
		}
	}
	return true
}

// Words that headings are made of, by what they mean.
var (
	wordsOfLimits = []string{"limit", "level", "lev", "lmt"}
	wordsOfPlace  = []string{"location", "loc", "site", "well", "station", "point", "bore", "borehole", "tap", "premises", "outlet"}
	wordsOfSample = []string{"sample", "samp", "lab", "laboratory"}
	wordsOfName   = []string{"name", "nm", "id", "no", "nr", "number", "num", "code", "cd", "identifier", "ref", "reference", "desc", "description", "sys", "client", "field", "sampling", "monitoring", "sample", "samp", "of", "the", "permit"}
	wordsOfResult = []string{"reported", "final", "numeric", "number", "num", "text", "txt", "va", "value", "level", "measured", "sample", "your", "test", "lab", "analytical", "analysis", "original", "string", "entry", "display", "mean"}
)

// wordedHeadings are tried in order; the first that fits decides (common
// practice, no source).
var wordedHeadings = []wordedHeading{
	{fieldLimitUnit, [][]string{{"unit", "units"}, wordsOfLimits}, []string{"detection", "reporting", "quantitation", "report", "method", "mdl", "rl"}},
	{fieldUnit, [][]string{{"unit", "units", "uom"}}, []string{"result", "results", "reported", "of", "measure", "measurement", "code", "cd", "concentration", "value", "analysis", "lab", "test", "name", "si"}},
	{fieldReporting, [][]string{{"reporting", "report", "reported", "rpt", "quantitation", "quantification", "practical", "mrl", "rl", "pql", "loq", "rdl"}, wordsOfLimits}, []string{"method", "lab", "value", "va", "sample", "minimum", "min", "of", "detection", "adjusted", "laboratory", "result"}},
	{fieldDetection, [][]string{{"detection", "detect", "mdl", "lod", "dl"}, wordsOfLimits}, []string{"method", "lab", "value", "va", "sample", "minimum", "min", "of", "instrument", "adjusted", "laboratory"}},
	{fieldCensored, [][]string{{"less"}, {"than"}}, []string{"indicator", "ind", "flag", "sign"}},
	{fieldCensored, [][]string{{"censored", "censor", "nondetect", "nondetects"}}, []string{"is", "value", "result", "left", "flag", "indicator", "code"}},
	{fieldCensored, [][]string{{"non", "not"}, {"detect", "detected"}}, []string{"is", "flag", "indicator", "result"}},
	{fieldDetected, [][]string{{"detect", "detected"}}, []string{"is", "flag", "indicator", "result", "y", "n", "yes", "no"}},
	{fieldQualifier, [][]string{{"qualifier", "qualifiers", "qual", "quals", "flag", "flags"}}, []string{"lab", "laboratory", "result", "reported", "data", "validator", "validation", "validated", "interpreted", "final", "code", "cd", "review", "reviewer", "reason", "value", "qa", "1", "2"}},
	{fieldQualifier, [][]string{{"remark", "rmk"}, {"code", "cd"}}, []string{"result", "value"}},
	{fieldFraction, [][]string{{"total"}, {"dissolved", "diss"}}, []string{"or"}},
	{fieldFraction, [][]string{{"fraction", "filtered", "filtration"}}, []string{"sample", "result", "status", "analysis", "analyzed", "field", "lab", "total", "dissolved", "or", "y", "n"}},
	{fieldCode, [][]string{{"parm", "parameter", "param"}, {"cd", "code"}}, []string{"usgs"}},
	{fieldName, [][]string{{"analyte", "parameter", "constituent", "determinand", "characteristic", "compound", "chemical", "parm", "param", "variable", "substance", "component"}}, []string{"name", "nm", "desc", "description", "long", "short", "full", "tested", "reported", "water", "quality", "test"}},
	{fieldSampleType, [][]string{{"type"}, {"sample", "samp", "qc"}}, []string{"code", "cd", "description", "control", "name"}},
	{fieldDate, [][]string{{"date", "dt", "datetime", "day"}, {"sample", "sampled", "samp", "sampling", "collection", "collected", "collect", "start", "activity", "visit", "taken"}}, []string{"of", "time", "and", "local"}},
	{fieldLocationType, [][]string{{"type"}, wordsOfPlace}, wordsOfName},
	{fieldLocation, [][]string{wordsOfPlace}, wordsOfName},
	{fieldLocation, [][]string{{"client", "field", "customer", "station", "source"}}, append([]string{"sample", "water"}, wordsOfName...)},
	{fieldSample, [][]string{wordsOfSample}, []string{"id", "no", "nr", "number", "num", "code", "cd", "identifier", "sys", "ref", "reference", "order", "name"}},
	{fieldPrior, [][]string{{"result", "results", "value"}, {"preliminary", "prelim", "provisional", "initial", "superseded"}}, nil},
	{fieldValue, [][]string{{"result", "results", "concentration", "conc", "reading", "value", "measurement"}}, wordsOfResult},
}

// headingWords cuts a heading into folded words: at everything that is no
// letter or digit, and where a capital follows a small letter.
func headingWords(s string) []string {
	var words []string
	var w []rune
	end := func() {
		if len(w) > 0 {
			words = append(words, strings.ToLower(string(w)))
			w = w[:0]
		}
	}
	var before rune
	for _, c := range s {
		switch {
		case !unicode.IsLetter(c) && !unicode.IsDigit(c):
			end()
		case unicode.IsUpper(c) && unicode.IsLower(before):
			end()
			w = append(w, c)
		default:
			w = append(w, c)
		}
		before = c
	}
	end()
	return words
}

// headed is what one cell of a row is as a heading.
type headed struct {
	column int
	field  field
}

// headings returns the cells of a row that are headings. They are found once
// for each of the rows in which a heading may stand.
func (t *grid) headings(i int) []headed {
	if t.heads == nil {
		t.heads = make([][]headed, min(len(t.rows), searchedForHeading))
		for i := range t.heads {
			for j, c := range t.rows[i].cells {
				if f, ok := headingField(c); ok {
					t.heads[i] = append(t.heads[i], headed{j, f})
				}
			}
		}
	}
	return t.heads[i]
}
