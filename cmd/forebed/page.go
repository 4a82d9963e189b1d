package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"forebed/cmd/forebed/internal/web"
)

// wasmPackage is the program inside the static site.
const wasmPackage = "forebed/cmd/forebed/internal/wasm"

func pageCommand() *cli.Command {
	return &cli.Command{
		Name:  "page",
		Usage: "write the page as a static site that needs no server of its own",
		Description: "Writes a folder of files that any file host can serve: the same page, with the engine compiled to\n" +
			"WebAssembly inside. Reports and logs stay in the browser, and the site works with the network cut after the first\n" +
			"visit. It needs https or localhost; opened as a file, a browser will not run it.\n\n" +
			"Inside a copy of the source, with Go installed, the engine is compiled on the way. Elsewhere give it:\n" +
			"  GOOS=js GOARCH=wasm go build -trimpath -ldflags='-s -w' -o forebed.wasm " + wasmPackage + "\n" +
			"  forebed page --engine forebed.wasm --support \"$(go env GOROOT)/lib/wasm/wasm_exec.js\" -o DIR",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "`DIR` to write to; it is made if it is not there"},
			&cli.StringFlag{Name: "engine", Usage: "the compiled engine, a `FILE`; without it, it is compiled from the source in this folder"},
			&cli.StringFlag{Name: "support", Usage: "wasm_exec.js of the toolchain that compiled it, a `FILE`"},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected no argument", c.Args().First())("name the folder with -o")
			}
			if c.String("output") == "" {
				return usagef("no folder given")("name the folder with -o: forebed page -o site")
			}
			engine, support, err := engineFiles(c)
			if err != nil {
				return err
			}
			files, err := web.Site(engine, support)
			if err != nil {
				return usagef("--engine: %v", err)("compile it with GOOS=js GOARCH=wasm go build -o forebed.wasm " + wasmPackage)
			}
			return writeSite(c, files)
		},
	}
}

// engineFiles returns the compiled engine and its support file: those given,
// or fresh ones from the toolchain.
func engineFiles(c *cli.Context) (engine, support []byte, err error) {
	name, beside := c.String("engine"), c.String("support")
	if (name == "") != (beside == "") {
		return nil, nil, usagef("--engine and --support belong together, since both must come from one toolchain")("give both or neither")
	}
	if name == "" {
		dir, err := os.MkdirTemp("", "forebed-page-")
		if err != nil {
			return nil, nil, err
		}
		defer os.RemoveAll(dir)
		name = filepath.Join(dir, "forebed.wasm")
		root, err := goTool(c, "env", "GOROOT")
		if err != nil {
			return nil, nil, err
		}
		beside = filepath.Join(strings.TrimSpace(root), "lib", "wasm", "wasm_exec.js")
		if _, err := goTool(c, "build", "-trimpath", "-ldflags=-s -w", "-o", name, wasmPackage); err != nil {
			return nil, nil, err
		}
	}
	if engine, err = os.ReadFile(name); err != nil {
		return nil, nil, unreadable(name, err)
	}
	if support, err = os.ReadFile(beside); err != nil {
		return nil, nil, unreadable(beside, err)
	}
	return engine, support, nil
}

// goTool runs the Go toolchain for WebAssembly.
func goTool(c *cli.Context, args ...string) (string, error) {
	cmd := exec.CommandContext(c.Context, "go", args...)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := cmd.Output()
	if err == nil {
		return string(out), nil
	}
	why := err.Error()
	var failed *exec.ExitError
	if errors.As(err, &failed) && len(failed.Stderr) > 0 {
		why = strings.TrimSpace(string(failed.Stderr))
	}
	return "", usagef("the engine could not be compiled: %s", why)("run this inside a copy of the source with Go installed, or give --engine and --support")
}

// writeSite writes the files, each whole or not at all, and says what the
// first visit loads.
func writeSite(c *cli.Context, files map[string][]byte) error {
	dir := c.String("output")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return unreadable(dir, err)
	}
	total := 0
	for _, name := range slices.Sorted(maps.Keys(files)) {
		body := files[name]
		total += len(body)
		if err := writeWhole(filepath.Join(dir, name), func(w io.Writer) error { _, err := w.Write(body); return err }); err != nil {
			return err
		}
	}
	fmt.Fprintf(c.App.ErrWriter, "%d files, %.1f MB, in %s. Serve them over https or from localhost.\n", len(files), float64(total)/1e6, dir)
	return nil
}
