//go:build !js

package schemas

import (
	"errors"
	"reflect"
	"strings"
	"sync"

	"github.com/go-playground/validator/v10"
)

// checker holds the compiled validator tags; it names fields by json tag.
var checker = sync.OnceValue(func() *validator.Validate {
	v := validator.New(validator.WithRequiredStructEnabled())
	v.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	return v
})

// relations checks the validator tags of v, which state how fields relate.
func (t *Tree) relations(v any) error {
	if reflect.Indirect(reflect.ValueOf(v)).Kind() != reflect.Struct {
		return nil
	}
	err := checker().Struct(v)
	var fields validator.ValidationErrors
	if err == nil || !errors.As(err, &fields) {
		return err
	}
	var ps Problems
	for _, f := range fields {
		_, path, _ := strings.Cut(f.Namespace(), ".")
		pointer := "/" + strings.NewReplacer(".", "/", "[", "/", "]", "").Replace(path)
		p := Problem{File: t.File, Field: pointer, Found: brief(f.Value()), Want: relation(f), Remedy: "change one of the two", Err: ErrInvalid}
		p.Line, p.Column = t.Place(pointer)
		ps = append(ps, p)
	}
	return ps.Sorted().Err()
}

// relation says a validator tag in words.
func relation(f validator.FieldError) string {
	switch f.Tag() {
	case "gtfield":
		return "more than " + f.Param()
	case "gtefield":
		return "at least " + f.Param()
	case "ltfield":
		return "less than " + f.Param()
	case "ltefield":
		return "at most " + f.Param()
	case "required_with":
		return "it to be given together with " + f.Param()
	case "required_without":
		return "it, or " + f.Param()
	case "excluded_with":
		return "it to be left out when " + f.Param() + " is given"
	}
	return strings.TrimSpace(f.Tag() + " " + f.Param())
}
