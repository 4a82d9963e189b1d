package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
)

// The server prints its address, answers there and nowhere else, and stops
// when it is told to, with exit code 0.
func TestServeStopsWhenTold(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, in := io.Pipe()
	ended := make(chan int, 1)
	var complaints strings.Builder
	go func() {
		ended <- run(ctx, []string{"forebed", "serve", "--address", "127.0.0.1:0"}, strings.NewReader(""), in, &complaints)
	}()
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.Get(strings.TrimSpace(line))
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("status %d", answer.StatusCode)
	}
	r, err := http.NewRequest("GET", strings.TrimSpace(line), nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Host = "evil.test"
	foreign, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer foreign.Body.Close()
	if foreign.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("a foreign host name got status %d", foreign.StatusCode)
	}
	stop()
	if code := <-ended; code != exitDone {
		t.Errorf("exit code %d: %s", code, complaints.String())
	}
}
