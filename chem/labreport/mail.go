package labreport

import (
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"strings"
)

// looksLikeMail tells a saved mail whose body is not plain text: its header
// says how the body is written (RFC 5322, RFC 2045).
func looksLikeMail(text string) bool {
	head, _, ok := strings.Cut(strings.ReplaceAll(text[:min(len(text), maxMailHeader)], "\r\n", "\n"), "\n\n")
	first, _, _ := strings.Cut(head, ":")
	if !ok || first == "" || strings.ContainsAny(first, " \t\n<") {
		return false
	}
	head = strings.ToLower(head)
	return strings.Contains(head, "\ncontent-type: multipart/") || strings.Contains(head, "\ncontent-type: text/html") ||
		strings.Contains(head, "\ncontent-transfer-encoding: quoted-printable") || strings.Contains(head, "\ncontent-transfer-encoding: base64")
}

// maxMailHeader bounds the header of a mail, maxMailParts how many parts of it
// are looked at.
const maxMailHeader, maxMailParts = 1 << 16, 20

// readMail reads the parts of a mail, its text or page and what is attached,
// and gives the one with the most results. Lines are those of that part.
func readMail(input []byte, o Options) (*Reading, error) {
	m, err := mail.ReadMessage(strings.NewReader(string(input)))
	if err != nil {
		return nil, brokenInput(o, "a mail with a damaged header: "+err.Error(), "copy the text of the mail")
	}
	var parts [][]byte
	collectParts(header(m.Header), m.Body, &parts, 0)
	var best *Reading
	var why error
	most := 0
	for _, p := range parts {
		if looksLikeMail(string(p[:min(len(p), maxMailHeader)])) {
			continue // a mail inside a mail is another mail
		}
		r, err := Read(p, o)
		if err != nil {
			if why == nil {
				why = err
			}
			continue
		}
		n := 0
		for i := range r.Document.Samples {
			n += len(r.Document.Samples[i].Results)
		}
		if n > most {
			best, most = r, n
		}
	}
	switch {
	case best != nil:
		best.Format = "mail"
		return best, nil
	case why != nil:
		return nil, why
	}
	return nil, brokenInput(o, "a mail without a part that can be read", "copy the text of the mail, or save its attachment")
}

// header is that of a mail, or of one of its parts.
type header map[string][]string

func (h header) get(key string) string {
	if v := h[key]; len(v) > 0 {
		return v[0]
	}
	return ""
}

// collectParts decodes the parts of a mail. Of the same text as a page and as
// plain text, both are given.
func collectParts(h header, body io.Reader, parts *[][]byte, depth int) {
	kind, params, err := mime.ParseMediaType(h.get("Content-Type"))
	if err != nil {
		kind = "text/plain"
	}
	if strings.HasPrefix(kind, "multipart/") && params["boundary"] != "" && depth < maxTables {
		r := multipart.NewReader(body, params["boundary"])
		for len(*parts) < maxMailParts {
			p, err := r.NextRawPart()
			if err != nil {
				return
			}
			collectParts(header(p.Header), p, parts, depth+1)
		}
		return
	}
	switch strings.ToLower(h.get("Content-Transfer-Encoding")) {
	case "quoted-printable":
		body = quotedprintable.NewReader(body)
	case "base64":
		body = base64.NewDecoder(base64.StdEncoding, body)
	}
	b, err := io.ReadAll(io.LimitReader(body, MaxBytes+1))
	if err == nil || len(b) > 0 {
		*parts = append(*parts, b)
	}
}
