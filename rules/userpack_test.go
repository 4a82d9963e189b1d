package rules

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"forebed/schemas"
)

// loadWith loads a pack and merges it with ours.
func loadWith(name string) (*Set, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	p, err := LoadPack(filepath.Base(name), data)
	if err != nil {
		return nil, err
	}
	return Merge(append(Builtin(), p)...)
}

// Each pack in testdata/refused has beside it the whole error that it must
// give. A new case is two new files.
func TestRefusedPacks(t *testing.T) {
	names, err := filepath.Glob("testdata/refused/*.yaml")
	if err != nil || len(names) < 30 {
		t.Fatalf("%d cases, %v", len(names), err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".yaml"), func(t *testing.T) {
			_, err := loadWith(name)
			if err == nil {
				t.Fatal("the pack was accepted")
			}
			if !errors.Is(err, schemas.ErrInvalid) {
				t.Errorf("the error is no schemas.ErrInvalid: %v", err)
			}
			want, readErr := os.ReadFile(strings.TrimSuffix(name, ".yaml") + ".want")
			if readErr != nil {
				t.Fatalf("%v; the error is\n%v", readErr, err)
			}
			if got := err.Error() + "\n"; got != string(want) {
				t.Errorf("the error is\n%sexpected\n%s", got, want)
			}
		})
	}
}

func TestUserPackAddsTightensAndSilences(t *testing.T) {
	before := ours(t)
	set, err := loadWith("../testdata/examples/rules.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(set.Rules()), len(before.Rules()); got != want { // one added, one silenced
		t.Errorf("%d rules, expected %d", got, want)
	}
	if _, there := set.Rule("bed-hardness-is-no-reason"); there {
		t.Error("the silenced rule is still there")
	}
	if r, there := set.Rule("orchard-residue"); !there || r.Pack() != "orchard" {
		t.Error("the added rule is not there")
	}
	f := baseAt(t, AtVessel)
	f.set(t, "turbidity", "3 NTU")
	r, _ := set.Rule("bed-turbidity")
	old, _ := before.Rule("bed-turbidity")
	if f.judge(r).Verdict != Yes || f.judge(old).Verdict != No {
		t.Errorf("3 NTU: tightened %v, ours %v; expected yes and no", f.judge(r).Verdict, f.judge(old).Verdict)
	}
	if !strings.Contains(r.Source, "tightened by the pack orchard: our own log") || !strings.Contains(r.Because, "hard to reach") {
		t.Errorf("the tightened rule does not say who tightened it: %s / %s", r.Because, r.Source)
	}
	if r, _ := set.Rule("bed-iron"); r.Level != LevelMust {
		t.Errorf("bed-iron has level %s, expected must", r.Level)
	}
	if old, _ := before.Rule("bed-iron"); old.Level != LevelShould {
		t.Error("tightening changed our own pack")
	}
}

// Whatever a pack holds, reading it must end in a pack or in problems.
func FuzzPack(f *testing.F) {
	for _, pattern := range []string{"testdata/refused/*.yaml", "../testdata/examples/rules.yaml", "packs/*.yaml"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	builtin := Builtin()
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := LoadPack("pack.yaml", data)
		if err != nil {
			var ps schemas.Problems
			if !errors.As(err, &ps) || len(ps) == 0 {
				t.Fatalf("an error without problems: %v", err)
			}
			return
		}
		if set, err := Merge(append(builtin, p)...); err == nil {
			facts := FactsOf(nil, nil)
			for _, r := range set.Rules() {
				_ = r.Explain(facts)
			}
		}
	})
}
