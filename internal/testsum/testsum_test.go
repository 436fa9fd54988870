package main

import (
	"strings"
	"testing"
)

func TestSummarise(t *testing.T) {
	const (
		passed = `{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"=== RUN   TestA\n"}
{"Action":"pass","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Output":"PASS\n"}
{"Action":"output","Package":"p","Output":"ok  \tp\t0.1s\n"}
{"Action":"pass","Package":"p"}
`
		lacking = `{"Action":"output","Package":"p","Test":"TestB","Output":"=== RUN   TestB\n"}
{"Action":"output","Package":"p","Test":"TestB","Output":"    b_test.go:7: jackd is not installed\n"}
{"Action":"output","Package":"p","Test":"TestB","Output":"--- SKIP: TestB (0.00s)\n"}
{"Action":"skip","Package":"p","Test":"TestB"}
`
		dataless = `{"Action":"output","Package":"p","Test":"TestC","Output":"    c_test.go:7: no test data x below EVENHAND_DATA\n"}
{"Action":"skip","Package":"p","Test":"TestC"}
`
		failed = `{"Action":"output","Package":"p","Test":"TestD","Output":"    d_test.go:7: 2 is not 3\n"}
{"Action":"fail","Package":"p","Test":"TestD"}
`
		unbuilt = `{"ImportPath":"p","Action":"build-output","Output":"p.go:1: no\n"}
{"ImportPath":"p","Action":"build-fail"}
{"Action":"fail","Package":"p","FailedBuild":"p"}
`
	)
	for _, tt := range []struct {
		name, in string
		strict   bool
		want     string
		ok       bool
	}{
		{"nothing", "", true, "0 tests passed, 0 failed, 0 skipped\n", true},
		{"passed", passed, true, "ok  \tp\t0.1s\n1 tests passed, 0 failed, 0 skipped\n", true},
		{"a tool is lacking", passed + lacking, false, "ok  \tp\t0.1s\n--- SKIP: p TestB: b_test.go:7: jackd is not installed\n1 tests passed, 0 failed, 1 skipped\n", true},
		{"a tool is lacking in CI", lacking, true, "--- SKIP: p TestB: b_test.go:7: jackd is not installed (not allowed here: what it lacks can be installed)\n0 tests passed, 0 failed, 1 skipped\n", false},
		{"data is lacking in CI", dataless, true, "--- SKIP: p TestC: c_test.go:7: no test data x below EVENHAND_DATA\n0 tests passed, 0 failed, 1 skipped\n", true},
		{"failed", failed, false, "    d_test.go:7: 2 is not 3\n0 tests passed, 1 failed, 0 skipped\n", false},
		{"not built", unbuilt, false, "p.go:1: no\n0 tests passed, 0 failed, 0 skipped\n", false},
		{"no JSON", "go: no such package\n", false, "go: no such package\n0 tests passed, 0 failed, 0 skipped\n", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var out strings.Builder
			ok, err := summarise(strings.NewReader(tt.in), &out, tt.strict)
			if err != nil || ok != tt.ok || out.String() != tt.want {
				t.Errorf("got %v, %v:\n%s\nwant %v:\n%s", ok, err, out.String(), tt.ok, tt.want)
			}
		})
	}
}
