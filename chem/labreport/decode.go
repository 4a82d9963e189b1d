package labreport

import (
	"bytes"
	"encoding/binary"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"forebed/chem/analysis"
	"forebed/chem/unit"
)

// recognise tells the format by content, never by file name: rows to
// interpret, or, for a machine format, the finished reading.
func recognise(input []byte, o Options) (source, *Reading, error) {
	for _, s := range signatures {
		if !s.stands(input) {
			continue
		}
		if s.read == nil {
			return source{}, nil, brokenInput(o, s.found, s.remedy)
		}
		src, err := s.read(input, o)
		if err != nil {
			return source{}, nil, err
		}
		if len(src.sheets) > 1 {
			return readSheets(src, o)
		}
		return machine(src, o)
	}
	text, err := decode(input, o)
	if err != nil {
		return source{}, nil, err
	}
	if looksLikeMail(text) {
		r, err := readMail(input, o)
		return source{}, r, err
	}
	if looksLikeDocument(text) {
		r, err := readDocument(text, o)
		if err != nil && !strings.Contains(text, analysis.Version) {
			if rec := readRecords(text); rec != nil {
				return finished(source{rows: freeRows(strings.Split(text, "\n"))}, rec, o)
			}
		}
		return source{}, r, err
	}
	if strings.HasPrefix(strings.TrimLeft(text, " \t\r\n"), "[") {
		if rec := readRecords(text); rec != nil {
			return finished(source{rows: freeRows(strings.Split(text, "\n"))}, rec, o)
		}
	}
	text = undoDoubleEncoding(text)
	if looksLikeHTML(text) {
		return machine(readHTML(text), o)
	}
	lines, err := splitLines(text, o)
	if err != nil {
		return source{}, nil, err
	}
	if t, ok := delimited(lines); ok {
		return machine(source{format: "csv", rows: t.rows}, o)
	}
	return source{format: "text", rows: freeRows(lines)}, nil, nil
}

// machine reads rows with known cells if their headings say what each cell
// is. Rows of any other kind, and tables in which nothing was found, are left
// to the reader of layouts.
func machine(src source, o Options) (source, *Reading, error) {
	r := tableOf(src, nil)
	if r == nil {
		return src, nil, nil
	}
	return finished(src, r, o)
}

// strangeUnits counts the figures that are left out or doubted because their
// unit cannot be one of a water analysis.
func strangeUnits(doc *analysis.Document) int {
	n := 0
	for _, w := range doc.Warnings {
		if w.Code == "unit_suspect" {
			n++
		}
	}
	for i := range doc.Samples {
		for _, res := range doc.Samples[i].Results {
			if res.Unit == unit.None && slices.ContainsFunc(res.Warnings, func(w analysis.Warning) bool { return w.Code == "unit_suspect" }) {
				n++
			}
		}
	}
	return n
}

// finished adds the doubts to the reading of a table, or refuses it.
func finished(src source, r *Reading, o Options) (source, *Reading, error) {
	n := 0
	for i := range r.Document.Samples {
		n += len(r.Document.Samples[i].Results)
	}
	t := surveyRows(src.rows)
	if t.notWater(n) {
		return source{}, nil, refuseOther(o, t, r.Document.Warnings)
	}
	if strange := strangeUnits(&r.Document); strange >= leastAnalytes && 2*strange > n {
		return source{}, nil, refuse(ErrNotWater, o, 0, countOf(strange, "figure")+" in units that are none of a water analysis", "concentrations such as mg/L", "give the report of a water sample", r.Document.Warnings...)
	}
	if n == 0 && r.foreign > 0 {
		return source{}, nil, refuse(ErrNotWater, o, 0, countOf(r.foreign, "row")+" about something else than water", "a water analysis", "give the report of a water sample", r.Document.Warnings...)
	}
	settleDoubts(&r.Document)
	t.grainDoubt(&r.Document)
	if r.Format != "wqx" && t.isUtility() {
		r.Document.Warnings = append(r.Document.Warnings, utilityDoubt)
	}
	return source{}, r, nil
}

// tableOf reads rows as the table that their headings tell; nil if there is
// none, or nothing in it. Notes are what stands beside them on other sheets.
func tableOf(src source, notes []row) *Reading {
	t := grid{rows: src.rows, delimited: src.format == "csv", notes: notes}
	t.learnStyle()
	joinSigns(src.rows)
	if m, ok := mergedTable(t); ok {
		if r := m.read(src.format); len(r.Document.Samples) > 1 {
			return r
		}
	}
	if n, ok := narrowTable(t); ok {
		if r := n.read(src.format); len(r.Document.Samples) > 0 || r.foreign > 0 || strangeUnits(&r.Document) >= leastAnalytes {
			return r
		}
	}
	if w, ok := wideTable(t); ok {
		if r := w.read(); len(r.Document.Samples) > 0 {
			return r
		}
	}
	if w, ok := turnedTable(t); ok {
		if r := w.read(src.format); len(r.Document.Samples) > 0 {
			return r
		}
	}
	return nil
}

// signature tells a binary format by its first bytes.
type signature struct {
	magic  string
	within int // the magic may start this many bytes in
	read   func([]byte, Options) (source, error)
	found  string // for formats that are not read
	remedy string
}

// signatures are the binary formats that people hand over. Sources: ISO
// 32000-1 7.5.2 (PDF), the ZIP application note 4.3.7, and the public
// signature lists of the others (common practice, no source).
var signatures = []signature{
	{magic: "%PDF-", within: 1024, read: readPDF},
	{magic: "PK\x03\x04", read: readXLSX},
	{magic: "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", found: "an office document of the old binary kind", remedy: "save it as XLSX or CSV"},
	{magic: "{\\rtf", found: "rich text (RTF)", remedy: "open it and copy its text"},
	{magic: "\x89PNG", found: "a picture", remedy: "type the results, or copy their text"},
	{magic: "\xff\xd8\xff", found: "a picture", remedy: "type the results, or copy their text"},
	{magic: "GIF8", found: "a picture", remedy: "type the results, or copy their text"},
	{magic: "\x1f\x8b", found: "a compressed file", remedy: "unpack it first"},
	{magic: "7z\xbc\xaf", found: "a compressed file", remedy: "unpack it first"},
	{magic: "Rar!\x1a", found: "a compressed file", remedy: "unpack it first"},
}

func (s signature) stands(b []byte) bool {
	if s.within == 0 {
		return bytes.HasPrefix(b, []byte(s.magic))
	}
	head := b[:min(len(b), s.within+len(s.magic))]
	return bytes.Contains(head, []byte(s.magic)) && len(bytes.Trim(head[:bytes.Index(head, []byte(s.magic))], "\x00\ufeff \r\n\t")) == 0
}

func noResults(message string) analysis.Warning {
	return analysis.Warning{Code: "no_results", Message: message}
}

// brokenInput refuses bytes that hold no text to read.
func brokenInput(o Options, found, remedy string) error {
	return refuse(ErrBroken, o, 0, found, "text, CSV, XLSX, PDF with text, HTML or JSON", remedy, noResults("nothing in the input could be read"))
}

// decode turns text of any of the usual encodings into UTF-8: UTF-8 and
// UTF-16 with or without a byte-order mark, and Windows-1252, in that order.
// Bytes that are no text are refused.
func decode(b []byte, o Options) (string, error) {
	text := ""
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")):
		text = string(b[3:])
	case bytes.HasPrefix(b, []byte("\xff\xfe")):
		text = utf16Text(b[2:], binary.LittleEndian)
	case bytes.HasPrefix(b, []byte("\xfe\xff")):
		text = utf16Text(b[2:], binary.BigEndian)
	default:
		if order := unmarkedUTF16(b); order != nil {
			text = utf16Text(b, order)
		} else if utf8.Valid(trimCut(b)) {
			text = string(trimCut(b))
		} else {
			text = string(mustWindows1252(b))
		}
	}
	text = strings.ToValidUTF8(text, "\uFFFD")
	if garbage(text) {
		return "", brokenInput(o, "bytes that are no text", "copy the text from the program that shows the report")
	}
	return text, nil
}

func utf16Text(b []byte, order binary.ByteOrder) string {
	u := make([]uint16, len(b)/2)
	for i := range u {
		u[i] = order.Uint16(b[2*i:])
	}
	return string(utf16.Decode(u))
}

// unmarkedUTF16 tells UTF-16 without a mark by its zero bytes: in a report
// nearly every second byte is zero, and always the same second byte.
func unmarkedUTF16(b []byte) binary.ByteOrder {
	head := b[:min(len(b), 4096)&^1]
	var zero [2]int
	for i, c := range head {
		if c == 0 {
			zero[i%2]++
		}
	}
	half := len(head) / 2
	switch {
	case half < 4:
		return nil
	case zero[1] > half*7/10 && zero[0] < half/10:
		return binary.LittleEndian
	case zero[0] > half*7/10 && zero[1] < half/10:
		return binary.BigEndian
	}
	return nil
}

// trimCut takes off the torn last character of a paste that was cut by bytes.
func trimCut(b []byte) []byte {
	for n := 1; n <= 3 && n <= len(b); n++ {
		c := b[len(b)-n]
		if utf8.RuneStart(c) {
			if c >= utf8.RuneSelf && !utf8.FullRune(b[len(b)-n:]) {
				return b[:len(b)-n]
			}
			break
		}
	}
	return b
}

func mustWindows1252(b []byte) []byte {
	t, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		panic(err) // the decoder maps every byte
	}
	return t
}

// garbage tells text from other bytes: control characters and replacement
// characters are rare in text.
func garbage(text string) bool {
	bad, all := 0, 0
	for _, r := range text {
		all++
		if r == utf8.RuneError || r < ' ' && !strings.ContainsRune("\t\n\r\f\v", r) || 0x7f <= r && r < 0xa0 && r != 0x85 {
			bad++
		}
	}
	return bad*50 > all
}

// undoDoubleEncoding repairs UTF-8 that a program took for Windows-1252 and
// encoded again ("Âµg/L", "Â°C"): only when the whole text can be undone, so
// that a text which merely contains such letters stays as it is.
func undoDoubleEncoding(text string) string {
	if !slices.ContainsFunc([]string{"Âµ", "Â°", "Î¼", "Ã", "Â\u00a0", "Â ", "â\u20ac"}, func(s string) bool { return strings.Contains(text, s) }) {
		return text
	}
	b, err := charmap.Windows1252.NewEncoder().String(text)
	if err != nil || !utf8.ValidString(b) {
		return strayLead.Replace(text)
	}
	return b
}

// strayLead drops the first half of a blank encoded twice where a program has
// made the other half plain.
var strayLead = strings.NewReplacer("Â\u00a0", " ", "Â ", " ")

// splitLines cuts text into lines as an editor counts them.
func splitLines(text string, o Options) ([]string, error) {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	text = strings.Map(func(r rune) rune {
		switch r {
		case '\u2028', '\u2029', '\u0085':
			return '\n'
		case '\f', '\v':
			return ' '
		case '\ufeff', '\u200b', '\u200e', '\u200f':
			return -1 // marks without a width
		}
		return r
	}, text)
	lines := strings.Split(text, "\n")
	if len(lines) > MaxLines {
		return nil, refuse(ErrTooLarge, o, MaxLines+1, countOf(len(lines), "line"), "at most "+countOf(MaxLines, "line"), "paste the pages with the results only")
	}
	for i, l := range lines {
		if len(l) > MaxLineLength {
			return nil, refuse(ErrTooLarge, o, i+1, "a line of "+sizeOf(len(l)), "at most "+sizeOf(MaxLineLength)+" a line", "break the line, or copy the table again")
		}
	}
	return lines, nil
}

// freeRows are the lines of a text without known cells.
func freeRows(lines []string) []row {
	rows := make([]row, len(lines))
	for i, l := range lines {
		rows[i] = row{line: i + 1, text: l}
	}
	return rows
}
