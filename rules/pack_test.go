package rules

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write packs/ready.json from packs/*.yaml")

// testSuffix marks the files beside the packs that hold their tests.
const testSuffix = "_test.yaml"

// The packs that the program carries are those of the YAML files, which must
// pass every check that a user's pack must pass.
func TestReadyPacks(t *testing.T) {
	names, err := filepath.Glob("packs/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var packs []*Pack
	for _, name := range names {
		if strings.HasSuffix(name, testSuffix) {
			continue
		}
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p, err := LoadPack(name, data)
		if err != nil {
			t.Fatal(err)
		}
		packs = append(packs, p)
	}
	if _, err := Merge(packs...); err != nil {
		t.Fatal(err)
	}
	want, err := json.Marshal(packs)
	if err != nil {
		t.Fatal(err)
	}
	want = bytes.ReplaceAll(want, []byte(`},{"id":`), []byte("},\n{\"id\":")) // a line a rule, for a readable diff
	if *update {
		if err := os.WriteFile("packs/ready.json", want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(ready, want) {
		t.Error("packs/ready.json is not what packs/*.yaml say; write it with: go generate ./rules")
	}
}
