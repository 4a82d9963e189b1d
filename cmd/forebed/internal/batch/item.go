package batch

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"forebed/chem/analysis"
	"forebed/chem/labreport"
	"forebed/schemas"
)

// MaxLine bounds one line of the input, in bytes. A longer one is skipped and
// answered with an error that names the bound.
const MaxLine = schemas.MaxBytes

// maxID bounds the id of an item, in bytes as written.
const maxID = 1000

// ErrLine is the sentinel of a line that holds no item.
var ErrLine = errors.New("the line is no item")

// Item is one thing to answer: a report with the corrections that are its own.
type Item struct {
	ID      json.RawMessage    // as written, a string or a number; nil if the line gives none
	Place   string             // where it stands, for messages to people: "line 7", "W-12"
	File    string             // of which file an error says the line; the id if empty
	Input   []byte             // the report; unused if Reading is given
	Reading *labreport.Reading // one sample of a report that was read already
	Edits   labreport.Edits
	Pads    string
	Fault   error // the item could not be read from the input; nothing else is set but ID and Place
	Region  int   // which of several inputs it comes from, for the table
	Done    int64 // bytes of the input up to its end, for a progress bar
}

// Lines reads items from lines of JSON: {"id", "text"}, {"id", "analysis"}, or
// an analysis document. Blank lines are passed over. The last item carries the
// error of a reader that fails.
func Lines(in io.Reader) iter.Seq[Item] {
	return func(yield func(Item) bool) {
		r := bufio.NewReaderSize(in, 64<<10)
		var done int64
		for n := 1; ; n++ {
			line, size, err := readLine(r)
			done += size
			if n == 1 {
				line = bytes.TrimPrefix(line, []byte("\ufeff"))
			}
			if line = bytes.TrimSpace(line); len(line) > 0 {
				item := parse(line)
				item.Place, item.Done = fmt.Sprintf("line %d", n), done
				if !yield(item) {
					return
				}
			}
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				yield(Item{Place: fmt.Sprintf("line %d", n), Fault: fmt.Errorf("the input ends here: %w", err), Done: done})
				return
			}
		}
	}
}

// readLine returns one line, of a line beyond MaxLine its first MaxLine+1
// bytes, and how many bytes it took from the reader.
func readLine(r *bufio.Reader) (line []byte, size int64, err error) {
	for {
		part, err := r.ReadSlice('\n')
		size += int64(len(part))
		line = append(line, part[:min(len(part), MaxLine+1-len(line))]...)
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, size, err
		}
	}
}

// parse makes the item of one line.
func parse(line []byte) Item {
	if len(line) > MaxLine {
		return fault(nil, fmt.Sprintf("a line of more than %d bytes", MaxLine), "at most that", "split the report, or leave out what is no result")
	}
	if !utf8.Valid(line) {
		return fault(nil, "bytes that are not UTF-8", "UTF-8 text", "write the line in UTF-8")
	}
	fields, problem := split(line)
	if problem != "" {
		return fault(nil, problem, `a JSON object such as {"id": "W-12", "text": "Iron 0.3 mg/L"}`, "write one JSON object a line")
	}
	if fields["version"] != nil || fields["samples"] != nil {
		return Item{Input: line}
	}
	return envelope(fields)
}

// envelope makes the item of a line that is not an analysis document itself.
// The fields are taken in alphabetical order, so that the fault that is told
// is the same every time.
func envelope(fields map[string]json.RawMessage) Item {
	item := Item{}
	if id := fields["id"]; id != nil && string(id) != "null" {
		if len(id) > maxID || !strings.ContainsRune(`"-0123456789`, rune(id[0])) {
			return fault(nil, "an id of another kind", fmt.Sprintf("text or a number of at most %d bytes", maxID), `write it as "id": "W-12"`)
		}
		item.ID = id
	}
	var text *string
	var document json.RawMessage
	targets := map[string]any{"text": &text, "sample": &item.Edits.Sample, "set": &item.Edits.Set, "basis": &item.Edits.Basis, "drop": &item.Edits.Drop, "pads": &item.Pads}
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if name == "id" {
			continue
		}
		if name == "analysis" {
			document = fields[name]
			continue
		}
		target, ok := targets[name]
		if !ok {
			return fault(item.ID, fmt.Sprintf("the field %q", name), `the fields "id", "text" or "analysis", and perhaps "sample", "set", "basis", "drop", "pads"`, "correct or delete the field")
		}
		if err := json.Unmarshal(fields[name], target); err != nil {
			return fault(item.ID, fmt.Sprintf("%q: %s", name, strings.TrimPrefix(err.Error(), "json: ")), "text; for set, basis and drop a list of texts", "correct the field")
		}
	}
	switch {
	case text != nil && document != nil:
		return fault(item.ID, `both "text" and "analysis"`, "one of them", "delete one of the two")
	case text != nil:
		item.Input = []byte(*text)
	case document != nil:
		item.Input = document
	default:
		return fault(item.ID, `neither "text" nor "analysis"`, "one of them", `give the report as "text"`)
	}
	return item
}

// split takes the fields of a JSON object that is alone on its line, or says
// what is wrong with it.
func split(line []byte) (fields map[string]json.RawMessage, problem string) {
	dec := json.NewDecoder(bytes.NewReader(line))
	if t, err := dec.Token(); err != nil || t != json.Delim('{') {
		return nil, "a line that is no JSON object: " + excerpt(line)
	}
	fields = map[string]json.RawMessage{}
	for dec.More() {
		t, err := dec.Token()
		if err != nil {
			return nil, "broken JSON: " + err.Error()
		}
		name, _ := t.(string)
		if fields[name] != nil {
			return nil, fmt.Sprintf("the field %q a second time", name)
		}
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			return nil, "broken JSON: " + err.Error()
		}
		fields[name] = value
	}
	if _, err := dec.Token(); err != nil {
		return nil, "broken JSON: " + err.Error()
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, "more text after the object"
	}
	return fields, ""
}

// excerpt is the beginning of a line, for a message.
func excerpt(line []byte) string {
	s := []rune(string(line))
	if len(s) > 40 {
		return fmt.Sprintf("%q...", string(s[:40]))
	}
	return fmt.Sprintf("%q", string(s))
}

func fault(id json.RawMessage, found, want, remedy string) Item {
	return Item{ID: id, Fault: schemas.Problems{{Found: found, Want: want, Remedy: remedy, Err: ErrLine}}}
}

// Samples gives each sample of a report as one item, so that a table of many
// wells can be planned for well by well. The id is the label of the sample, or
// its number. Doubts that concern another sample alone are left with that one.
func Samples(file string, input []byte) iter.Seq[Item] {
	return func(yield func(Item) bool) {
		reading, err := labreport.Read(input, labreport.Options{File: file})
		if err != nil {
			yield(Item{ID: quote(file), Place: file, File: file, Fault: err, Done: int64(len(input))})
			return
		}
		doc := reading.Document
		owner := owners(doc)
		for i, s := range doc.Samples {
			one := *reading
			one.Lines = nil
			one.Document = analysis.Document{Version: doc.Version, Samples: []analysis.Sample{s}, Warnings: []analysis.Warning{}}
			for _, w := range doc.Warnings {
				if concerns(w, i, doc.Samples, owner) {
					one.Document.Warnings = append(one.Document.Warnings, w)
				}
			}
			name := s.Label
			if name == "" {
				name = fmt.Sprint(i + 1)
			}
			if !yield(Item{ID: quote(name), Place: name, File: file, Reading: &one, Done: int64(len(input)) * int64(i+1) / int64(len(doc.Samples))}) {
				return
			}
		}
	}
}

// owners tells which samples have results on a line of the report.
func owners(doc analysis.Document) map[int]map[int]bool {
	m := map[int]map[int]bool{}
	for i, s := range doc.Samples {
		for _, r := range s.Results {
			if r.Line > 0 {
				if m[r.Line] == nil {
					m[r.Line] = map[int]bool{}
				}
				m[r.Line][i] = true
			}
		}
	}
	return m
}

// concerns tells whether a doubt about the report is one about sample i: it
// stands on a line of the sample or of none, and names no other sample.
func concerns(w analysis.Warning, i int, samples []analysis.Sample, owner map[int]map[int]bool) bool {
	if w.Code == "multiple_samples" {
		return false
	}
	if on := owner[w.Line]; len(on) > 0 && !on[i] {
		return false
	}
	name, _, ok := strings.Cut(w.Message, ": ")
	if !ok || name == samples[i].Label {
		return true
	}
	for _, s := range samples {
		if s.Label == name {
			return false
		}
	}
	return true
}

func quote(s string) json.RawMessage {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always has a JSON form
	}
	return b
}
