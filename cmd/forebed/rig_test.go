package main

import (
	"regexp"
	"testing"

	"forebed/rules"
)

// The document of somebody who answered nothing says what holds then: with the
// marks of the defaults taken away it is the default rig.
func TestDefaultsOfRigNew(t *testing.T) {
	doc := rigDocument(nil)
	stated := regexp.MustCompile(`(?m)^#( *[a-z_]+:| *- )`).ReplaceAllString(doc, "$1")
	got, err := rules.ReadRig("rig.yaml", []byte(stated))
	if err != nil {
		t.Fatalf("%v\n%s", err, stated)
	}
	plain, err := rules.ReadRig("rig.yaml", []byte(doc))
	if err != nil {
		t.Fatal(err)
	}
	if got.Vessels[0].Vessel != plain.Vessels[0].Vessel || got.Use != plain.Use || got.Ends != plain.Ends || got.Site != plain.Site {
		t.Errorf("with its marks taken away the document gives\n%+v\ninstead of the defaults\n%+v", got, plain)
	}
	if len(plain.Assumptions)-len(got.Assumptions) != len(questions)-1 { // a name is no assumption
		t.Errorf("%d assumptions with the marks, %d without, and %d questions", len(plain.Assumptions), len(got.Assumptions), len(questions))
	}
}
