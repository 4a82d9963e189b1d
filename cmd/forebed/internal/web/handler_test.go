package web_test

import (
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"forebed/chem/labreport"
	"forebed/cmd/forebed/internal/render"
	"forebed/cmd/forebed/internal/web"
)

// ask sends a request to a handler whose own address is page.test.
func ask(r *http.Request) *http.Response {
	w := httptest.NewRecorder()
	web.Handler(day, "page.test:80").ServeHTTP(w, r)
	return w.Result()
}

// posted is a form as a browser sends it.
func posted(fields map[string]string) *http.Request {
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, value := range fields {
		_ = m.WriteField(name, value) // a Buffer never fails
	}
	_ = m.Close()
	r := httptest.NewRequest("POST", "http://page.test:80/", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return r
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestForeignHostsAndOrigins(t *testing.T) {
	small := map[string]string{"do": "read", "report": "pH 7\nTDS 100 mg/L\n"}
	with := func(header, value string) *http.Request {
		r := posted(small)
		r.Header.Set(header, value)
		return r
	}
	foreign := posted(small)
	foreign.Host = "evil.test" // a name that was made to point at this machine
	for _, c := range []struct {
		name string
		r    *http.Request
		want int
	}{
		{"own page", with("Sec-Fetch-Site", "same-origin"), http.StatusOK},
		{"own page, older browser", with("Origin", "http://page.test:80"), http.StatusOK},
		{"no browser", posted(small), http.StatusOK},
		{"foreign host name", foreign, http.StatusMisdirectedRequest},
		{"foreign page", with("Sec-Fetch-Site", "cross-site"), http.StatusForbidden},
		{"foreign page, older browser", with("Origin", "http://evil.test"), http.StatusForbidden},
		{"a file on disk", with("Origin", "null"), http.StatusForbidden},
		{"unknown path", httptest.NewRequest("GET", "http://page.test:80/go.mod", nil), http.StatusNotFound},
		{"path out of the folder", httptest.NewRequest("GET", "http://page.test:80/sheet.css/../../go.mod", nil), http.StatusTemporaryRedirect},
		{"encoded path out of the folder", httptest.NewRequest("GET", "http://page.test:80/%2e%2e%2fgo.mod", nil), http.StatusNotFound},
		{"other method", httptest.NewRequest("PUT", "http://page.test:80/", nil), http.StatusMethodNotAllowed},
	} {
		got := ask(c.r)
		if got.StatusCode != c.want {
			t.Errorf("%s: status %d, expected %d", c.name, got.StatusCode, c.want)
		}
		if got.Header.Get("Content-Security-Policy") != web.Policy || got.Header.Get("X-Content-Type-Options") != "nosniff" || got.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: guards are missing among the headers: %v", c.name, got.Header)
		}
	}
	for _, no := range []string{"unsafe-inline", "unsafe-eval", "*", "http:"} {
		if strings.Contains(web.Policy, no) {
			t.Errorf("the policy allows %s", no)
		}
	}
}

func TestMalformedRequests(t *testing.T) {
	raw := func(kind, body string) *http.Request {
		r := httptest.NewRequest("POST", "http://page.test:80/", strings.NewReader(body))
		r.Header.Set("Content-Type", kind)
		return r
	}
	for _, c := range []struct {
		name string
		r    *http.Request
		want int
	}{
		{"cut off", raw("multipart/form-data; boundary=x", "--x\r\nContent-Disposition: form-data; name=\"report\"\r\n\r\npH"), http.StatusBadRequest},
		{"no boundary", raw("multipart/form-data", "pH 7"), http.StatusBadRequest},
		{"bad escapes", raw("application/x-www-form-urlencoded", "report=%zz"), http.StatusBadRequest},
		{"too large a plain form", raw("application/x-www-form-urlencoded", "report="+strings.Repeat("pH+7+", labreport.MaxBytes/5+1<<19)), http.StatusRequestEntityTooLarge},
		{"plain form", raw("application/x-www-form-urlencoded", "do=read&report=pH+7%0ATDS+100+mg/L"), http.StatusOK},
		{"no form", raw("text/plain", "pH 7"), http.StatusOK},
		{"unknown button", posted(map[string]string{"do": "dance", "report": "pH 7\nTDS 100 mg/L"}), http.StatusOK},
		{"nothing pasted", posted(map[string]string{"do": "plan"}), http.StatusUnprocessableEntity},
		{"no water analysis", posted(map[string]string{"do": "plan", "report": "Dear all, the meeting is at nine."}), http.StatusUnprocessableEntity},
		{"rig that cannot be", posted(map[string]string{"do": "plan", "report": "pH 7\nTDS 100 mg/L", "rinses": "many"}), http.StatusUnprocessableEntity},
		{"rig document that is none", posted(map[string]string{"do": "plan", "report": "pH 7\nTDS 100 mg/L", "rig_document": "vessels: ["}), http.StatusUnprocessableEntity},
		{"too large", posted(map[string]string{"do": "plan", "report": strings.Repeat("pH 7\n", labreport.MaxBytes/5+1<<19)}), http.StatusRequestEntityTooLarge},
	} {
		got := ask(c.r)
		if got.StatusCode != c.want {
			t.Errorf("%s: status %d, expected %d: %.200s", c.name, got.StatusCode, c.want, body(t, got))
		}
	}
}

// A client that sends its request drop by drop is cut off, and the others are
// served meanwhile.
func TestSlowClients(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	host := l.Addr().String()
	s := web.Server(web.Handler(day, host))
	if s.ReadHeaderTimeout == 0 || s.ReadTimeout == 0 || s.WriteTimeout == 0 || s.IdleTimeout == 0 || s.MaxHeaderBytes == 0 {
		t.Errorf("the server waits for ever, or takes any header: %+v", s)
	}
	s.ReadHeaderTimeout, s.ReadTimeout = 200*time.Millisecond, 400*time.Millisecond
	stopped := make(chan error, 1)
	go func() { stopped <- s.Serve(l) }()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		<-stopped
	})
	for _, begin := range []string{
		"POST / HTTP/1.1\r\nHost: ", // no end of the header
		"POST / HTTP/1.1\r\nHost: " + host + "\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\nreport=", // no end of the body
	} {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(c, begin); err != nil {
			t.Fatal(err)
		}
		answer, err := http.Get("http://" + host + "/")
		if err != nil || answer.StatusCode != http.StatusOK {
			t.Fatalf("beside a slow client: %v, %v", answer, err)
		}
		_ = answer.Body.Close()
		if err := c.SetReadDeadline(time.Now().Add(patience)); err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(c); err != nil {
			t.Errorf("the slow client was not cut off: %v, after %q", err, got)
		}
		_ = c.Close()
	}
}

// Fifty people paste at once.
func TestFiftyPastesAtOnce(t *testing.T) {
	home := served(t)
	in := report(t, "orchard-soft-acid-well.txt")
	const people = 50
	texts := make([]string, people)
	var all sync.WaitGroup
	for i := range people {
		all.Go(func() {
			r, err := http.PostForm(home+"/", url.Values{"do": {"read"}, "report": {in}})
			if err != nil {
				texts[i] = err.Error()
				return
			}
			defer r.Body.Close()
			b, err := io.ReadAll(r.Body)
			texts[i] = fmt.Sprint(r.StatusCode, err, string(b))
		})
	}
	all.Wait()
	for i, s := range texts {
		if s != texts[0] || !strings.HasPrefix(s, "200 <nil>") {
			t.Fatalf("answer %d: %.300s", i, s)
		}
	}
}

// What a person loads for a plan: page, style, script.
func TestWeight(t *testing.T) {
	const most = 150_000 // bytes, uncompressed
	for _, name := range []string{"boatyard-hard-iron-well.txt", "marina-brackish-well.csv"} {
		page := body(t, ask(posted(map[string]string{"do": "plan", "report": report(t, name)})))
		if !strings.Contains(page, `id="plan"`) {
			t.Fatalf("no plan for %s", name)
		}
		all := len(page) + len(render.StyleSheet()) + len(web.Asset("form.css")) + len(web.Asset("page.js"))
		t.Logf("%s: %d bytes in all, %d of them the page", name, all, len(page))
		if all > most {
			t.Errorf("%s: %d bytes, more than %d", name, all, most)
		}
	}
}

// What became of the lines that gave no result is said, and a doubt offers
// only meanings that can be chosen on the page.
func TestLinesWithoutAResult(t *testing.T) {
	page := body(t, ask(posted(map[string]string{"do": "read", "report": "pH 17\nfoo <bar> 12 mg/L\nTDS 300 mg/L\nIron: high\nTotal coliform: 3 colonies?\n"})))
	for _, want := range []string{"line 2: foo &lt;bar&gt; 12 mg/L", "nothing about the water: 1.", "write it in the field above"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, not := range []string{"=VALUE", "or =absent"} {
		if strings.Contains(page, not) {
			t.Errorf("the page offers %q, which nobody can choose", not)
		}
	}
	many := body(t, ask(posted(map[string]string{"do": "read", "report": "pH 7\n" + strings.Repeat("my dog is 7\n", 500)})))
	if n := strings.Count(many, "my dog is 7"); n > 570 || !strings.Contains(many, "60 and 440 more") {
		t.Errorf("of 500 lines %d are listed", n-500)
	}
}

// day is what day it is in the tests.
func day() string { return "2026-04-22" }
