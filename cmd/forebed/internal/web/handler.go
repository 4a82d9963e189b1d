//go:build !js

package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net"
	"net/http"
	"net/url"
	"time"

	"forebed/chem/labreport"
	"forebed/cmd/forebed/internal/render"
)

// Limits of the handler.
const (
	maxForm    = labreport.MaxBytes + 1<<20 // bytes of one posted form
	maxPlans   = 4                          // answers computed at the same time; others wait
	maxWaiting = 128                        // that may wait; beyond it the answer is 503
	maxWork    = 30 * time.Second           // for one answer, waiting included
)

// Server returns an http.Server for the page, with time limits that a slow
// client runs into.
func Server(h http.Handler) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      maxWork + 10*time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
	}
}

// Handler serves the page. hosts are the host names, with port, under which
// it may be asked for; others are turned away, so that a foreign name that
// resolves to this machine cannot read a report. today is the day that the
// form is filled in with where the page states none, such as 2026-04-03.
func Handler(today func() string, hosts ...string) http.Handler {
	h := &handler{today: today, hosts: map[string]bool{}, work: make(chan struct{}, maxPlans), queue: make(chan struct{}, maxPlans+maxWaiting)}
	for _, name := range hosts {
		h.hosts[name] = true
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", h.page)
	mux.HandleFunc("POST /{$}", h.page)
	for name, file := range map[string]struct {
		kind string
		body []byte
	}{
		"sheet.css": {"text/css; charset=utf-8", render.StyleSheet()},
		"form.css":  {"text/css; charset=utf-8", Asset("form.css")},
		"page.js":   {"text/javascript; charset=utf-8", Asset("page.js")},
	} {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", file.kind)
			w.Header().Set("Cache-Control", "no-cache")
			_, _ = w.Write(file.body) // the client went away: nothing to do
		})
	}
	return h.guard(http.NewCrossOriginProtection().Handler(mux))
}

// Policy is the content security policy of the page: its own files only, no
// inline script or style, no frame around it.
const Policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

type handler struct {
	today func() string
	hosts map[string]bool
	work  chan struct{} // a place for each answer being computed
	queue chan struct{} // a place for each answer computed or waiting
}

// guard sets the headers of every answer and turns foreign hosts away.
func (h *handler) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", Policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "no-referrer")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if !h.hosts[r.Host] {
			http.Error(w, "This page answers to its own address only. Open the address that forebed serve printed.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (h *handler) page(w http.ResponseWriter, r *http.Request) {
	form := &Form{Values: url.Values{}}
	if r.Method == http.MethodPost {
		var err error
		if form, err = readForm(w, r); err != nil {
			status := http.StatusBadRequest
			var big *http.MaxBytesError
			if errors.As(err, &big) {
				status = http.StatusRequestEntityTooLarge
				err = fmt.Errorf("the report is larger than %d MiB; paste the pages with the results only", labreport.MaxBytes>>20)
			}
			http.Error(w, err.Error(), status)
			return
		}
	}
	if form.get(fieldToday) == "" {
		form.Values.Set(fieldToday, h.today())
	}
	select {
	case h.queue <- struct{}{}:
		defer func() { <-h.queue }()
	default:
		w.Header().Set("Retry-After", "5")
		http.Error(w, "Too many plans are being made. Try again in a few seconds.", http.StatusServiceUnavailable)
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), maxWork)
	defer cancel()
	select {
	case h.work <- struct{}{}:
		defer func() { <-h.work }()
	case <-ctx.Done():
		http.Error(w, "The plan took too long. Try again.", http.StatusServiceUnavailable)
		return
	}
	answer, err := safely(ctx, form)
	if err != nil {
		status, text := http.StatusInternalServerError, "Internal failure: our fault, not your report's. "+err.Error()
		if ctx.Err() != nil {
			status, text = http.StatusServiceUnavailable, "The plan took too long. Try again."
		}
		http.Error(w, text, status)
		return
	}
	w.Header().Set("Content-Type", answer.Type)
	if answer.Filename != "" {
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": answer.Filename}))
	}
	if answer.Refused {
		w.WriteHeader(http.StatusUnprocessableEntity)
	}
	_, _ = w.Write(answer.Body) // the client went away: nothing to do
}

// safely is Page with a panic turned into an error.
func safely(ctx context.Context, f *Form) (r *Response, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%v", p)
		}
	}()
	return Page(ctx, f)
}

// readForm reads a posted form into memory.
func readForm(w http.ResponseWriter, r *http.Request) (*Form, error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil { // ParseMultipartForm would keep this error to itself
		return nil, err
	}
	if err := r.ParseMultipartForm(maxForm); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return nil, err
	}
	f := &Form{Values: r.PostForm}
	if r.MultipartForm == nil {
		return f, nil
	}
	defer r.MultipartForm.RemoveAll()
	f.Files = map[string]File{}
	for field, parts := range r.MultipartForm.File {
		for _, part := range parts {
			in, err := part.Open()
			if err != nil {
				return nil, err
			}
			defer in.Close()
			body, err := io.ReadAll(in)
			if err != nil {
				return nil, err
			}
			f.Files[field] = File{part.Filename, body}
		}
	}
	return f, nil
}

// LoopbackHosts are the names under which a loopback listener may be asked
// for.
func LoopbackHosts(port int) []string {
	var hosts []string
	for _, name := range []string{"127.0.0.1", "localhost", "::1"} {
		hosts = append(hosts, net.JoinHostPort(name, fmt.Sprint(port)))
	}
	return hosts
}
