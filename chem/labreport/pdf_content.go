package labreport

import (
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"

	"github.com/ledongthuc/pdf"
)

// drawing reads the drawing instructions of pages (ISO 32000-1, 8 and 9): of
// those, the ones that place text. It counts down what it may still do.
type drawing struct {
	unpack, glyphs, operators int
}

// transform maps text to page coordinates: [a b c d e f] of ISO 32000-1, 8.3.
type transform [6]float64

var identity = transform{1, 0, 0, 1, 0, 0}

// then applies m first and n after it.
func (m transform) then(n transform) transform {
	return transform{
		m[0]*n[0] + m[1]*n[2], m[0]*n[1] + m[1]*n[3],
		m[2]*n[0] + m[3]*n[2], m[2]*n[1] + m[3]*n[3],
		m[4]*n[0] + m[5]*n[2] + n[4], m[4]*n[1] + m[5]*n[3] + n[5],
	}
}

// page reads the characters of a page. A page that is turned for display is
// turned back.
func (d *drawing) page(p pdf.Page) []glyph {
	turn := identity
	switch r := inherited(p.V, "Rotate").Int64(); ((r % 360) + 360) % 360 {
	case 90:
		turn = transform{0, -1, 1, 0, 0, 0}
	case 180:
		turn = transform{-1, 0, 0, -1, 0, 0}
	case 270:
		turn = transform{0, 1, -1, 0, 0, 0}
	}
	c := content{drawing: d, resources: inherited(p.V, "Resources")}
	c.run(d.bytesOf(p.V.Key("Contents")), textState{ctm: turn, scale: 1}, 0)
	return c.out
}

// inherited looks a key up in a page and in the groups above it.
func inherited(v pdf.Value, key string) pdf.Value {
	for range maxForms * 8 {
		if r := v.Key(key); !r.IsNull() || v.IsNull() {
			return r
		}
		v = v.Key("Parent")
	}
	return pdf.Value{}
}

// bytesOf unpacks a stream, or an array of streams that go on in each other.
func (d *drawing) bytesOf(v pdf.Value) []byte {
	if v.Kind() == pdf.Array {
		var all []byte
		for i := range v.Len() {
			all = append(append(all, d.bytesOf(v.Index(i))...), '\n')
		}
		return all
	}
	if v.Kind() != pdf.Stream {
		return nil
	}
	b, err := io.ReadAll(io.LimitReader(v.Reader(), maxPDFStream+1))
	if len(b) == 0 && err != nil {
		panic(err)
	}
	if d.unpack -= len(b); d.unpack < 0 || len(b) > maxPDFStream {
		panic(pdfLimit{"more than it may unpack to", "at most " + sizeOf(maxPDFStream) + " a page and " + sizeOf(maxPDFUnpacks) + " in all"})
	}
	return b
}

// content is one stream of drawing instructions.
type content struct {
	*drawing
	resources pdf.Value
	fonts     map[string]*font
	out       []glyph
}

// textState is the part of the graphics state that text depends on (ISO
// 32000-1, table 104).
type textState struct {
	ctm, text, line transform
	font            *font
	size            float64
	charSpace       float64 // Tc
	wordSpace       float64 // Tw
	scale           float64 // Th, 1 for 100 %
	leading         float64 // Tl
	rise            float64 // Ts
}

// run carries instructions out.
func (c *content) run(b []byte, s textState, depth int) {
	l := pdfLexer{b: b}
	var args []pdfToken
	var saved []textState
	for {
		t := l.next()
		switch t.kind {
		case operandEnd:
			return
		case operator:
			if c.operators--; c.operators < 0 {
				panic(pdfLimit{"more drawing instructions", "at most " + countOf(maxOperators, "instruction")})
			}
		default:
			if len(args) < maxOperands {
				args = append(args, t)
			}
			continue
		}
		num := func(i int) float64 {
			if i < len(args) {
				return args[i].number
			}
			return 0
		}
		switch t.text {
		case "q":
			if len(saved) < maxSaved {
				saved = append(saved, s)
			}
		case "Q":
			if n := len(saved); n > 0 {
				s, saved = saved[n-1], saved[:n-1]
			}
		case "cm":
			s.ctm = transform{num(0), num(1), num(2), num(3), num(4), num(5)}.then(s.ctm)
		case "BT":
			s.text, s.line = identity, identity
		case "Tf":
			if len(args) == 2 {
				s.font, s.size = c.fontNamed(args[0].text), args[1].number
			}
		case "Tc":
			s.charSpace = num(0)
		case "Tw":
			s.wordSpace = num(0)
		case "Tz":
			s.scale = num(0) / 100
		case "TL":
			s.leading = num(0)
		case "Ts":
			s.rise = num(0)
		case "Tm":
			s.text = transform{num(0), num(1), num(2), num(3), num(4), num(5)}
			s.line = s.text
		case "TD":
			s.leading = -num(1)
			s.move(num(0), num(1))
		case "Td":
			s.move(num(0), num(1))
		case "T*":
			s.move(0, -s.leading)
		case "'":
			s.move(0, -s.leading)
			c.show(&s, args)
		case "\"":
			s.wordSpace, s.charSpace = num(0), num(1)
			s.move(0, -s.leading)
			c.show(&s, args)
		case "Tj", "TJ":
			c.show(&s, args)
		case "Do":
			if len(args) > 0 && depth < maxForms {
				c.form(args[0].text, s, depth)
			}
		case "BI":
			l.skipImage()
		}
		args = args[:0]
	}
}

func (s *textState) move(x, y float64) {
	s.line = transform{1, 0, 0, 1, x, y}.then(s.line)
	s.text = s.line
}

// form carries out a drawing kept as an object of its own.
func (c *content) form(name string, s textState, depth int) {
	x := c.resources.Key("XObject").Key(name)
	if x.Key("Subtype").Name() != "Form" {
		return
	}
	if m := x.Key("Matrix"); m.Len() == 6 {
		var t transform
		for i := range t {
			t[i] = m.Index(i).Float64()
		}
		s.ctm = t.then(s.ctm)
	}
	inner := content{drawing: c.drawing, resources: x.Key("Resources"), out: c.out}
	if inner.resources.IsNull() {
		inner.resources = c.resources
	}
	inner.run(c.bytesOf(x), s, depth+1)
	c.out = inner.out
}

// show places the characters of the strings among args. Numbers between them
// move the next one back, in thousandths of the font size.
func (c *content) show(s *textState, args []pdfToken) {
	for _, a := range args {
		switch a.kind {
		case operandNumber:
			if !a.loose {
				s.text = transform{1, 0, 0, 1, -a.number / 1000 * s.size * s.scale, 0}.then(s.text)
			}
		case operandString:
			c.showString(s, a.text)
		}
	}
}

func (c *content) showString(s *textState, text string) {
	if s.font == nil {
		return
	}
	for len(text) > 0 {
		n := min(s.font.codeBytes, len(text))
		code := text[:n]
		text = text[n:]
		if c.glyphs--; c.glyphs < 0 {
			panic(pdfLimit{"more characters", "at most " + countOf(maxGlyphs, "character")})
		}
		width := s.font.width(code)
		m := transform{s.size * s.scale, 0, 0, s.size, 0, s.rise}.then(s.text).then(s.ctm)
		advance := width/1000*s.size + s.charSpace
		if code == " " {
			advance += s.wordSpace
		}
		s.text = transform{1, 0, 0, 1, advance * s.scale, 0}.then(s.text)
		// Text that does not run from left to right is a stamp or a caption in
		// the margin.
		if m[0] <= 0 || math.Abs(m[1]) > 0.1*m[0] || !finite(m[4]) || !finite(m[5]) || !finite(m[0]) {
			continue
		}
		c.out = append(c.out, glyph{x: m[4], y: m[5], end: m[4] + width/1000*m[0] + math.Max(s.charSpace*m[0]/s.size, 0), size: math.Max(m[0], math.Abs(m[3])), text: ligatures.Replace(s.font.letters(code)), order: len(c.out)})
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// font knows the letters and widths of character codes.
type font struct {
	codeBytes int // bytes of one code
	widths    map[int]float64
	usual     float64 // width of codes without one
	toUnicode map[string]string
	encoder   pdf.TextEncoding // for codes that toUnicode lacks; nil if there is none
	cache     map[string]string
}

// Widths assumed for fonts that state none, in thousandths: those of the
// standard typefaces, of which the file need not carry the widths. Courier is
// exact (ISO 32000-1 9.6.2.2 refers to its metrics), the other a mean.
const (
	courierWidth  = 600
	standardWidth = 500
)

func (c *content) fontNamed(name string) *font {
	if f, ok := c.fonts[name]; ok {
		return f
	}
	v := c.resources.Key("Font").Key(name)
	var f *font
	if v.Kind() == pdf.Dict {
		f = c.newFont(v)
	}
	if c.fonts == nil {
		c.fonts = map[string]*font{}
	}
	c.fonts[name] = f
	return f
}

func (c *content) newFont(v pdf.Value) *font {
	f := &font{codeBytes: 1, widths: map[int]float64{}, usual: standardWidth, cache: map[string]string{}}
	base := v.Key("BaseFont").Name()
	if strings.Contains(base, "Courier") {
		f.usual = courierWidth
	}
	if v.Key("Subtype").Name() == "Type0" {
		f.codeBytes = 2
		d := v.Key("DescendantFonts").Index(0)
		f.usual = 1000
		if w := d.Key("DW"); !w.IsNull() {
			f.usual = w.Float64()
		}
		f.cidWidths(d.Key("W"))
	} else if ws := v.Key("Widths"); ws.Len() > 0 && ws.Len() <= 256 {
		first := int(v.Key("FirstChar").Int64())
		for i := range ws.Len() {
			f.widths[first+i] = ws.Index(i).Float64()
		}
	}
	if u := v.Key("ToUnicode"); u.Kind() == pdf.Stream {
		f.toUnicode = readToUnicode(c.bytesOf(u))
	}
	// The library must not read ToUnicode itself: it loops on a damaged one.
	// So it is asked only for fonts whose encoding it takes from elsewhere.
	if enc := v.Key("Encoding"); f.codeBytes == 1 && (enc.Kind() == pdf.Name && enc.Name() != "Identity-H" || enc.Kind() == pdf.Dict && enc.Key("Differences").Len() <= 1024 || v.Key("ToUnicode").Kind() != pdf.Stream && enc.Kind() == pdf.Null) {
		f.encoder = (&pdf.Font{V: v}).Encoder()
	}
	return f
}

// cidWidths reads the widths of a composite font (ISO 32000-1, 9.7.4.3):
// "first [w w w]" or "first last w".
func (f *font) cidWidths(w pdf.Value) {
	left := 2 << 16 // widths that may still be set; there are no more codes
	set := func(n int, width float64) bool {
		if left--; left >= 0 {
			f.widths[n] = width
		}
		return left > 0
	}
	for i := 0; i+1 < w.Len() && left > 0; {
		first := int(w.Index(i).Int64())
		if list := w.Index(i + 1); list.Kind() == pdf.Array {
			for j := 0; j < list.Len() && set(first+j, list.Index(j).Float64()); j++ {
			}
			i += 2
			continue
		}
		last, width := int(w.Index(i+1).Int64()), w.Index(i+2).Float64()
		for n := first; n <= last && set(n, width); n++ {
		}
		i += 3
	}
}

func (f *font) width(code string) float64 {
	n := 0
	for i := range len(code) {
		n = n<<8 | int(code[i])
	}
	if w, ok := f.widths[n]; ok && w > 0 {
		return w
	}
	return f.usual
}

// letters returns what a code spells; U+FFFD if nobody knows.
func (f *font) letters(code string) string {
	if s, ok := f.cache[code]; ok {
		return s
	}
	s, ok := f.toUnicode[code]
	if !ok && f.encoder != nil {
		s = f.encoder.Decode(code)
	}
	if s == "" || s == "\x00" {
		s = "\uFFFD"
	}
	f.cache[code] = s
	return s
}

// maxMappings bounds the entries of a ToUnicode table.
const maxMappings = 1 << 16

// readToUnicode reads the table from codes to text (ISO 32000-1, 9.10.3).
func readToUnicode(b []byte) map[string]string {
	m := map[string]string{}
	l := pdfLexer{b: b}
	var args []pdfToken
	for {
		t := l.next()
		switch {
		case t.kind == operandEnd:
			return m
		case t.kind != operator:
			if len(args) < maxOperands {
				args = append(args, t)
			}
			continue
		case t.text == "endbfchar":
			for i := 0; i+1 < len(args); i += 2 {
				put(m, args[i].text, utf16Letters(args[i+1].text))
			}
		case t.text == "endbfrange":
			for i := 0; i+2 < len(args); {
				lo, hi := args[i].text, args[i+1].text
				i += 2
				if args[i].array == 0 {
					putRange(m, lo, hi, args[i].text)
					i++
					continue
				}
				code := lo
				for group := args[i].array; i < len(args) && args[i].array == group; i++ {
					put(m, code, utf16Letters(args[i].text))
					code = following(code, 1)
				}
			}
		}
		args = args[:0]
	}
}

func put(m map[string]string, code, text string) {
	if len(m) < maxMappings && code != "" && len(code) <= 4 {
		m[code] = text
	}
}

// putRange maps the codes from lo to hi, which differ in their last byte only,
// to texts that differ in their last character.
func putRange(m map[string]string, lo, hi, text string) {
	if len(lo) == 0 || len(lo) != len(hi) || len(text) < 2 {
		return
	}
	n := int(hi[len(hi)-1]) - int(lo[len(lo)-1])
	if len(lo) == 2 && lo[0] != hi[0] {
		n = (int(hi[0])<<8 | int(hi[1])) - (int(lo[0])<<8 | int(lo[1]))
	}
	for i := 0; i <= n && i < maxMappings; i++ {
		put(m, following(lo, i), utf16Letters(following(text, i)))
	}
}

// following adds i to the number that the last two bytes of s spell.
func following(s string, i int) string {
	b := []byte(s)
	for j := len(b) - 1; j >= 0 && i > 0; j-- {
		i += int(b[j])
		b[j] = byte(i)
		i >>= 8
	}
	return string(b)
}

func utf16Letters(s string) string {
	u := make([]uint16, len(s)/2)
	for i := range u {
		u[i] = uint16(s[2*i])<<8 | uint16(s[2*i+1])
	}
	return string(utf16.Decode(u))
}

// pdfToken is one operand or operator of drawing instructions.
type pdfToken struct {
	kind   operandKind
	text   string // of strings (bytes), names and operators
	number float64
	loose  bool // a number outside an array
	array  int  // which array it stands in, counted from 1; 0 for none
}

type operandKind int

const (
	operandEnd operandKind = iota
	operandNumber
	operandString
	operandName
	operator
)

// pdfLexer cuts drawing instructions and character maps into tokens. It always
// moves on, whatever it reads.
type pdfLexer struct {
	b      []byte
	i      int
	inside int // arrays open
	arrays int // arrays begun
}

func (l *pdfLexer) next() pdfToken {
	for l.i < len(l.b) {
		c := l.b[l.i]
		switch {
		case isPDFSpace(c):
			l.i++
		case c == '%':
			for l.i < len(l.b) && l.b[l.i] != '\n' && l.b[l.i] != '\r' {
				l.i++
			}
		case c == '[':
			l.i++
			l.inside++
			l.arrays++
		case c == ']':
			l.i++
			l.inside = max(0, l.inside-1)
		case c == '(':
			return l.mark(pdfToken{kind: operandString, text: l.literal()})
		case c == '<' && l.i+1 < len(l.b) && l.b[l.i+1] == '<', c == '>' && l.i+1 < len(l.b) && l.b[l.i+1] == '>':
			l.i += 2 // a dictionary: its keys and values are operands that no instruction reads
		case c == '<':
			return l.mark(pdfToken{kind: operandString, text: l.hex()})
		case c == '/':
			l.i++
			return pdfToken{kind: operandName, text: l.name()}
		case c == '{', c == '}', c == ')', c == '>':
			l.i++
		default:
			w := l.word()
			if v, err := strconv.ParseFloat(w, 64); err == nil && finite(v) {
				return l.mark(pdfToken{kind: operandNumber, number: v, loose: l.inside == 0})
			} else if errors.Is(err, strconv.ErrRange) {
				return l.mark(pdfToken{kind: operandNumber, loose: l.inside == 0})
			}
			return pdfToken{kind: operator, text: w}
		}
	}
	return pdfToken{}
}

func (l *pdfLexer) mark(t pdfToken) pdfToken {
	if l.inside > 0 {
		t.array = l.arrays
	}
	return t
}

// word reads a number or an operator: at least one byte.
func (l *pdfLexer) word() string {
	start := l.i
	l.i++
	for l.i < len(l.b) && !isPDFSpace(l.b[l.i]) && strings.IndexByte("()<>[]{}/%", l.b[l.i]) < 0 {
		l.i++
	}
	return string(l.b[start:l.i])
}

func (l *pdfLexer) name() string {
	if l.i < len(l.b) && (isPDFSpace(l.b[l.i]) || strings.IndexByte("()<>[]{}/%", l.b[l.i]) >= 0) {
		return ""
	}
	if l.i >= len(l.b) {
		return ""
	}
	w := l.word()
	if !strings.Contains(w, "#") {
		return w
	}
	var b strings.Builder
	for i := 0; i < len(w); i++ {
		if w[i] == '#' && i+2 < len(w) {
			if v, err := strconv.ParseUint(w[i+1:i+3], 16, 8); err == nil {
				b.WriteByte(byte(v))
				i += 2
				continue
			}
		}
		b.WriteByte(w[i])
	}
	return b.String()
}

// literal reads a string in round brackets (ISO 32000-1, 7.3.4.2).
func (l *pdfLexer) literal() string {
	end := literalEnd(l.b, l.i)
	raw := l.b[l.i+1 : max(l.i+1, end-1)]
	l.i = end
	var b strings.Builder
	for i := 0; i < len(raw); i++ {
		c := raw[i]
		if c != '\\' || i+1 == len(raw) {
			b.WriteByte(c)
			continue
		}
		i++
		switch c = raw[i]; {
		case '0' <= c && c <= '7':
			v := int(c - '0')
			for n := 0; n < 2 && i+1 < len(raw) && '0' <= raw[i+1] && raw[i+1] <= '7'; n++ {
				i++
				v = v*8 + int(raw[i]-'0')
			}
			b.WriteByte(byte(v))
		case c == 'n':
			b.WriteByte('\n')
		case c == 'r':
			b.WriteByte('\r')
		case c == 't':
			b.WriteByte('\t')
		case c == 'b', c == 'f':
		case c == '\n':
		case c == '\r':
			if i+1 < len(raw) && raw[i+1] == '\n' {
				i++
			}
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}

// hex reads a string of hexadecimal digits; other characters are passed over.
func (l *pdfLexer) hex() string {
	var b strings.Builder
	half, have := 0, false
	for l.i++; l.i < len(l.b); l.i++ {
		c := l.b[l.i]
		if c == '>' {
			l.i++
			break
		}
		v := strings.IndexByte("0123456789abcdef", c|0x20)
		if v < 0 {
			continue
		}
		if !have {
			half, have = v, true
			continue
		}
		b.WriteByte(byte(half<<4 | v))
		have = false
	}
	if have {
		b.WriteByte(byte(half << 4))
	}
	return b.String()
}

// skipImage passes over the bytes of a picture that stands among the
// instructions: up to EI between blanks.
func (l *pdfLexer) skipImage() {
	for ; l.i+3 < len(l.b); l.i++ {
		if isPDFSpace(l.b[l.i]) && l.b[l.i+1] == 'E' && l.b[l.i+2] == 'I' && isPDFSpace(l.b[l.i+3]) {
			l.i += 3
			return
		}
	}
	l.i = len(l.b)
}
