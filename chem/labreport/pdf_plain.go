package labreport

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
)

// pdfObject is one object of a PDF as it stands in the file.
type pdfObject struct {
	generation int
	text       []byte // what stands between obj and endobj, or stream
	stream     []byte // nil for an object without one
	isStream   bool
}

var (
	rootOf      = regexp.MustCompile(`/Root\s+(\d{1,6})\s+(\d{1,5})\s+R`)
	catalog     = regexp.MustCompile(`/Type\s*/Catalog\b`)
	objectPack  = regexp.MustCompile(`/Type\s*/ObjStm\b`)
	crossRef    = regexp.MustCompile(`/Type\s*/XRef\b`)
	packCount   = regexp.MustCompile(`/N\s+(\d{1,6})\s*[/>]`)
	packFirst   = regexp.MustCompile(`/First\s+(\d{1,7})\s*[/>]`)
	length      = regexp.MustCompile(`/Length\s+\d+(\s+\d+\s+R)?`)
	lengthPlain = regexp.MustCompile(`/Length\s+(\d{1,9})\s*[/>]`)
	useless     = regexp.MustCompile(`/Subtype\s*/Image\b|/Predictor|#`)
	tooHigh     = regexp.MustCompile(`[^\d.:]\d{10,}`) // a number for which the library would make room
)

// plainPDF writes a PDF anew: the same objects, found by looking for them and
// not by the file's own cross-references; those in packs (object streams) laid
// open; lengths of streams counted; pictures, and streams with parameters that
// text never needs, left empty. Damaged cross-references and whatever else
// could lead astray are gone then. Incremental updates work out, because the
// last object of a number stands.
func plainPDF(input []byte) ([]byte, error) {
	s := pdfScan{objects: map[int]pdfObject{}, unpack: maxPDFUnpacks}
	if err := s.scan(input); err != nil {
		return nil, err
	}
	if s.root == "" {
		for _, n := range slices.Sorted(maps.Keys(s.objects)) {
			if catalog.Match(s.objects[n].text) {
				s.root = fmt.Sprintf("%d %d", n, s.objects[n].generation)
			}
		}
	}
	if s.root == "" {
		return nil, errors.New("no catalogue of pages in it")
	}
	return s.write(), nil
}

type pdfScan struct {
	objects map[int]pdfObject
	root    string // number and generation of the catalogue
	unpack  int    // bytes that may still be unpacked
}

// scan finds the objects from the start of the file to its end.
func (s *pdfScan) scan(b []byte) error {
	for i := 0; ; {
		j := bytes.Index(b[i:], []byte("obj"))
		between := b[i:]
		if j >= 0 {
			between = b[i : i+j]
		}
		if err := s.trailer(between); err != nil {
			return err
		}
		if j < 0 {
			return nil
		}
		i += j + len("obj")
		number, generation, ok := objectHead(b[:i-len("obj")])
		if !ok {
			continue
		}
		ob := pdfObject{generation: generation}
		end, isStream := objectEnd(b, i)
		ob.text, ob.isStream = b[i:end], isStream
		i = end
		if isStream {
			ob.stream, i = streamOf(b, end, ob.text)
		}
		if err := s.add(number, ob); err != nil {
			return err
		}
	}
}

// trailer looks for the catalogue and for encryption in what stands outside
// objects.
func (s *pdfScan) trailer(b []byte) error {
	if m := rootOf.FindAllSubmatch(b, -1); m != nil {
		last := m[len(m)-1]
		s.root = string(last[1]) + " " + string(last[2])
	}
	if bytes.Contains(b, []byte("/Encrypt")) {
		return errors.New("it is encrypted")
	}
	return nil
}

func (s *pdfScan) add(number int, ob pdfObject) error {
	if number > maxPDFNumber {
		return nil // nothing that a report needs
	}
	if len(s.objects) >= maxPDFObjects {
		return pdfLimit{"more objects", "at most " + countOf(maxPDFObjects, "object")}
	}
	switch {
	case ob.isStream && crossRef.Match(ob.text):
		return s.trailer(ob.text)
	case ob.isStream && objectPack.Match(ob.text):
		return s.openPack(ob)
	case ob.isStream && useless.Match(ob.text):
		ob.stream, ob.text = nil, []byte("<<>>")
	case tooHigh.Match(ob.text):
		ob.stream, ob.isStream, ob.text = nil, false, []byte("null")
	}
	s.objects[number] = ob
	return nil
}

// objectHead reads "12 0 " backwards from the end of b.
func objectHead(b []byte) (number, generation int, ok bool) {
	i := len(b)
	back := func(of func(byte) bool) string {
		end := i
		for i > 0 && end-i < 12 && of(b[i-1]) {
			i--
		}
		return string(b[i:end])
	}
	if back(isPDFSpace) == "" {
		return 0, 0, false
	}
	digits := func(c byte) bool { return '0' <= c && c <= '9' }
	g := back(digits)
	if g == "" || back(isPDFSpace) == "" {
		return 0, 0, false
	}
	n := back(digits)
	number, err1 := strconv.Atoi(n)
	generation, err2 := strconv.Atoi(g)
	return number, generation, err1 == nil && err2 == nil && number > 0 && generation < 1<<16
}

func isPDFSpace(c byte) bool {
	return c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '\f' || c == 0
}

// objectEnd finds where the text of an object ends: at endobj, or behind the
// line of stream. What stands in strings and comments does not count.
func objectEnd(b []byte, i int) (end int, stream bool) {
	for i < len(b) {
		switch c := b[i]; {
		case c == '(':
			i = literalEnd(b, i)
		case c == '<' && i+1 < len(b) && b[i+1] == '<':
			i += 2
		case c == '<':
			n := bytes.IndexByte(b[i:], '>')
			if n < 0 {
				return len(b), false
			}
			i += n + 1
		case c == '%':
			for i < len(b) && b[i] != '\n' && b[i] != '\r' {
				i++
			}
		case c == 'e' && bytes.HasPrefix(b[i:], []byte("endobj")):
			return i, false
		case c == 's' && (bytes.HasPrefix(b[i:], []byte("stream\n")) || bytes.HasPrefix(b[i:], []byte("stream\r"))):
			return i, true
		default:
			i++
		}
	}
	return len(b), false
}

// literalEnd returns the index behind a string in round brackets.
func literalEnd(b []byte, i int) int {
	depth := 0
	for ; i < len(b); i++ {
		switch b[i] {
		case '\\':
			i++
		case '(':
			depth++
		case ')':
			if depth--; depth == 0 {
				return i + 1
			}
		}
	}
	return len(b)
}

// streamOf cuts out the bytes of a stream: as many as its length says, if
// endstream follows there, else up to endstream.
func streamOf(b []byte, i int, text []byte) (data []byte, next int) {
	i += len("stream")
	if bytes.HasPrefix(b[i:], []byte("\r\n")) {
		i += 2
	} else {
		i++
	}
	i = min(i, len(b))
	if m := lengthPlain.FindSubmatch(text); m != nil {
		if n, err := strconv.Atoi(string(m[1])); err == nil && n <= len(b)-i {
			if rest := bytes.TrimLeft(b[i+n:min(len(b), i+n+20)], "\r\n \t"); bytes.HasPrefix(rest, []byte("endstream")) {
				return b[i : i+n], i + n
			}
		}
	}
	n := bytes.Index(b[i:], []byte("endstream"))
	if n < 0 {
		return b[i:], len(b)
	}
	return bytes.TrimSuffix(b[i:i+n], []byte("\n")), i + n
}

// openPack lays the objects of an object stream open (ISO 32000-1, 7.5.7).
func (s *pdfScan) openPack(ob pdfObject) error {
	count, first := packCount.FindSubmatch(ob.text), packFirst.FindSubmatch(ob.text)
	if count == nil || first == nil || useless.Match(ob.text) {
		return errors.New("its objects are packed in an unusual way")
	}
	data := ob.stream
	if bytes.Contains(ob.text, []byte("/FlateDecode")) {
		z, err := zlib.NewReader(bytes.NewReader(data))
		if err != nil {
			return err
		}
		if data, err = io.ReadAll(io.LimitReader(z, int64(s.unpack)+1)); err != nil && len(data) == 0 {
			return err
		}
		if s.unpack -= len(data); s.unpack < 0 {
			return pdfLimit{"more than it may unpack to", "at most " + sizeOf(maxPDFUnpacks)}
		}
	}
	n, _ := strconv.Atoi(string(count[1]))
	start, _ := strconv.Atoi(string(first[1]))
	if start > len(data) {
		return errors.New("a pack of objects is cut off")
	}
	var numbers, offsets []int
	for _, w := range bytes.Fields(data[:start]) {
		v, err := strconv.Atoi(string(w))
		if err != nil || len(offsets) > n {
			return errors.New("a pack of objects has a damaged list")
		}
		if len(numbers) == len(offsets) {
			numbers = append(numbers, v)
		} else {
			offsets = append(offsets, v)
		}
	}
	for i, from := range offsets {
		to := len(data) - start
		if i+1 < len(offsets) {
			to = offsets[i+1]
		}
		if from < 0 || from > to || start+to > len(data) {
			return errors.New("a pack of objects has a damaged list")
		}
		if err := s.add(numbers[i], pdfObject{text: data[start+from : start+to]}); err != nil {
			return err
		}
	}
	return nil
}

// write writes the objects with a cross-reference table of the plain kind.
func (s *pdfScan) write() []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.4\n")
	numbers := slices.Sorted(maps.Keys(s.objects))
	offsets := make([]int, len(numbers))
	for i, n := range numbers {
		ob := s.objects[n]
		offsets[i] = b.Len()
		fmt.Fprintf(&b, "%d %d obj\n", n, ob.generation)
		if !ob.isStream {
			b.Write(bytes.TrimSpace(ob.text))
			b.WriteString("\nendobj\n")
			continue
		}
		text := length.ReplaceAll(ob.text, nil)
		open, rest, _ := bytes.Cut(text, []byte("<<"))
		b.Write(open)
		fmt.Fprintf(&b, "<< /Length %d ", len(ob.stream))
		b.Write(rest)
		b.WriteString("\nstream\n")
		b.Write(ob.stream)
		b.WriteString("\nendstream\nendobj\n")
	}
	at := b.Len()
	b.WriteString("xref\n")
	highest := 0
	for i, n := range numbers {
		fmt.Fprintf(&b, "%d 1\n%010d %05d n \n", n, offsets[i], s.objects[n].generation)
		highest = max(highest, n)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root %s R >>\nstartxref\n%d\n%%%%EOF\n", highest+1, s.root, at)
	return b.Bytes()
}
