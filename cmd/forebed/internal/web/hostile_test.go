package web_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// hostile are reports whose text would do harm if a page took it for markup.
var hostile = map[string]string{
	"markup":        "Sample: <script>window.harm=1</script><img src=x onerror=\"window.harm=1\">\npH 7.1 <b onclick=window.harm=1>\nTDS 300 mg/L</textarea><script>window.harm=1</script>\nIron 0.2 mg/L \"><svg onload=window.harm=1>\n",
	"sample labels": "sample,pH,TDS (mg/L)\n\"</option></select><script>window.harm=1</script>\",7.1,300\n\"' onfocus=window.harm=1 autofocus='\",7.2,310\n",
	"template":      "{{.Report}} pH 7.1\nTDS 300 mg/L\n{{template \"doubt\" .}}\n`${window.harm=1}`\n",
	"addresses":     "Source: javascript:window.harm=1\npH 7.1\nTDS 300 mg/L\nhttp://evil.test/pixel.png\n<link rel=stylesheet href=//evil.test/x.css><base href=//evil.test/>\n",
	"bidi":          "Sample \u202egm 003 norI\u202c \u2066x\u2069\u200f\npH 7.1\nTDS 300 mg/L\nIron \u202e2.0\u202c mg/L\n",
	"control":       "pH 7.1\x1b[2J\x07\nTDS\x00 300 mg/L\n\xff\xfe Iron 0.2 mg/L\n",
}

func TestHostileReportsAreInert(t *testing.T) {
	b := newTab(t)
	home := served(t)
	for name, text := range hostile {
		for _, button := range []string{"read", "plan"} {
			b.open(home + "/")
			b.paste("#report", strings.ToValidUTF8(strings.ReplaceAll(text, "\x00", ""), "?"))
			b.click("button[value=" + button + "]")
			b.wait("#answer")
			if eval[bool](b, "'harm' in window") {
				t.Errorf("%s: the report ran as a script", name)
			}
			if n := eval[int](b, "document.querySelectorAll('main script, main img, main base, main link, main [onerror], main [onclick], main [onload], main [onfocus]').length"); n != 0 {
				t.Errorf("%s: %d elements of the report became part of the page", name, n)
			}
			if got := eval[string](b, "document.querySelector('main').innerText"); strings.ContainsAny(got, "\u202e\u202d\u2066\u2067\u200f") {
				t.Errorf("%s: marks that turn text round stand in the page", name)
			}
		}
	}
	b.staysHome(home)
}

func TestHostileBytes(t *testing.T) {
	long := "pH 7.1\nTDS 300 mg/L\nIron " + strings.Repeat("9", 1<<20) + " mg/L\n" + strings.Repeat("<b>", 1<<18) + "\n"
	for name, text := range map[string]string{"long lines": long, "control": hostile["control"], "many lines": strings.Repeat("Iron 0.2 mg/L\n", 20_000)} {
		for _, button := range []string{"read", "plan"} {
			r := ask(posted(map[string]string{"do": button, "report": text}))
			page := body(t, r)
			if r.StatusCode != http.StatusOK && r.StatusCode != http.StatusUnprocessableEntity {
				t.Errorf("%s, %s: status %d: %.200s", name, button, r.StatusCode, page)
			}
			if strings.Contains(page, "<b>") {
				t.Errorf("%s, %s: markup of the report stands in the page", name, button)
			}
		}
	}
}

// What a report ends its lines with, or begins with, does not move the line
// numbers when the page sends it again.
func TestReportComesBackAsItWas(t *testing.T) {
	b := newTab(t)
	b.scripts(false)
	b.open(served(t) + "/")
	const text = "\n\npH 7.1\n  TDS 300 mg/L\n"
	for range 2 {
		b.paste("#report", text)
		b.submit("button[value=read]")
		got, err := chromedp.Run(b.ctx, chromedp.Value(chromedp.CSS("#report")))
		b.must("value", err)
		if got != text {
			t.Fatalf("the report came back as %q", got)
		}
	}
}
