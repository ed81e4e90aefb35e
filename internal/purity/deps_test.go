// Package purity holds tests of the whole tree, and no code: which packages
// the pure ones lean on, who reads the clock, and that no file knows the
// machine on which it was written.
//
// The rules are the project's own, so there is no outside source to cite.
package purity

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// root is the module's folder, seen from this one.
const root = "../.."

// pure lists the packages that get time, randomness and files as arguments.
var pure = []string{"evenhand/cautions", "evenhand/draw", "evenhand/draw/beacon", "evenhand/eligibility", "evenhand/sizing"}

// absent must not be anywhere below a pure package, however far down.
var absent = []string{"net", "net/http", "database/sql", "log", "log/slog", "os/exec"}

// indirect may be below a pure package only where Go's own standard library
// brings it in, which can't be helped: fmt imports os, math/big imports
// math/rand, and even crypto/sha256 and encoding/hex come with os. No package
// outside the standard library may import one of them.
var indirect = []string{"os", "math/rand", "math/rand/v2"}

// excused are the imports of others that break the rule of indirect, each with
// its reason.
var excused = map[string]string{
	// The curve library's hash functions ask for the processor's features;
	// this package reads them from the kernel's auxiliary vector, once.
	"golang.org/x/sys/cpu": "os",
}

// notOurs must not be imported by our own packages below a pure one:
// randomness comes in as an io.Reader.
var notOurs = []string{"crypto/rand"}

type listed struct {
	ImportPath string
	Standard   bool
	Imports    []string
}

// deps returns a package of this module and all that it leans on, without
// tests, as the go command lists it.
func deps(t *testing.T, path string) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-deps", "-json=ImportPath,Standard,Imports", path)
	cmd.Dir = root
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list -deps %s: %v: %s", path, err, &complaint)
	}
	var all []listed
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

// impurities returns what breaks the rules above in a package's list.
func impurities(all []listed) (faults []string) {
	for _, p := range all {
		if slices.Contains(absent, p.ImportPath) {
			faults = append(faults, p.ImportPath+" is below it")
		}
		if p.Standard {
			continue
		}
		for _, name := range p.Imports {
			ours := strings.HasPrefix(p.ImportPath, "evenhand/")
			switch {
			case slices.Contains(indirect, name) && excused[p.ImportPath] != name,
				ours && slices.Contains(notOurs, name):
				faults = append(faults, p.ImportPath+" imports "+name)
			}
		}
	}
	return faults
}

func TestPurePackagesLeanOnNothingImpure(t *testing.T) {
	for _, path := range pure {
		t.Run(path, func(t *testing.T) {
			all := deps(t, path)
			if len(all) < 2 || all[len(all)-1].ImportPath != path {
				t.Fatalf("go list -deps names %d packages and does not end with %s", len(all), path)
			}
			for _, fault := range impurities(all) {
				t.Error(fault)
			}
		})
	}
}

// The same check on a package that is known to use the network must find it.
func TestImpuritiesAreFound(t *testing.T) {
	faults := impurities(deps(t, "evenhand/draw/relay"))
	for _, want := range []string{"net is below it", "net/http is below it", "log is below it"} {
		if !slices.Contains(faults, want) {
			t.Errorf("%q is not among %q", want, faults)
		}
	}
	made := []listed{
		{ImportPath: "fmt", Standard: true, Imports: []string{"os"}},
		{ImportPath: "golang.org/x/sys/cpu", Imports: []string{"os", "math/rand"}},
		{ImportPath: "example.com/other", Imports: []string{"os", "crypto/rand"}},
		{ImportPath: "evenhand/sizing", Imports: []string{"fmt", "crypto/rand", "math/rand/v2"}},
		{ImportPath: "database/sql", Standard: true},
	}
	want := []string{
		"golang.org/x/sys/cpu imports math/rand",
		"example.com/other imports os",
		"evenhand/sizing imports crypto/rand",
		"evenhand/sizing imports math/rand/v2",
		"database/sql is below it",
	}
	if got := impurities(made); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
