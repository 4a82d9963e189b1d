package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"net/url"
	"slices"

	"forebed/cmd/forebed/internal/render"
)

// SitePolicy is the content security policy of the static site. It differs
// from that of the server in this: the engine may be compiled in the page, a
// worker may run it, and no form can be sent at all, since there is nowhere to
// send it to.
const SitePolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'none'; base-uri 'none'"

// Site returns the files of the static site by name. engine is package wasm
// compiled for GOOS=js GOARCH=wasm, support the file wasm_exec.js of the
// toolchain that compiled it. The engine is stored compressed, since not every
// file host compresses what it serves; the loader unpacks it.
//
// A service worker keeps all of these files, so that the site works with the
// network cut: unlike the cache of the browser it is asked first and is not
// emptied at a whim. Its cache is named after the contents, so a new version
// of the site replaces the old one as a whole.
func Site(engine, support []byte) (map[string][]byte, error) {
	if !bytes.HasPrefix(engine, []byte("\x00asm")) {
		return nil, fmt.Errorf("found a file that begins with %q, expected WebAssembly", engine[:min(4, len(engine))])
	}
	start, err := Page(context.Background(), &Form{Values: url.Values{}, Static: true})
	if err != nil {
		return nil, err
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(engine); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	files := map[string][]byte{
		"index.html":      start.Body,
		"sheet.css":       render.StyleSheet(),
		"form.css":        Asset("form.css"),
		"page.js":         Asset("page.js"),
		"site.js":         Asset("site.js"),
		"worker.js":       Asset("worker.js"),
		"wasm_exec.js":    support,
		"forebed.wasm.gz": packed.Bytes(),
	}
	names := slices.Sorted(maps.Keys(files))
	sum := sha256.New()
	for _, n := range names {
		fmt.Fprintf(sum, "%s %d\n", n, len(files[n]))
		sum.Write(files[n])
	}
	list, err := json.Marshal(append(names, "./"))
	if err != nil {
		return nil, err
	}
	head := fmt.Sprintf("\"use strict\";\nconst version = \"forebed-%s\";\nconst files = %s;\n", hex.EncodeToString(sum.Sum(nil)[:8]), list)
	files["offline.js"] = append([]byte(head), Asset("offline.js")...)
	return files, nil
}
