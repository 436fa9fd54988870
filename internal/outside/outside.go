// Package outside lets tests compare the project with general-purpose reference libraries and open
// data that are not part of it. Where one is absent the test is skipped and says what it lacks.
package outside

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
)

// Node runs an ES module, given as source text, under Node.js with the packages of package.json
// at hand, feeds it stdin, and returns what it prints. It skips the test where Node.js or the
// packages are not installed.
func Node(t testing.TB, script string, stdin []byte) []byte {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed: the check against outside libraries is left out")
	}
	dir := filepath.Join(Root(), "internal", "outside")
	if _, err := os.Stat(filepath.Join(dir, "node_modules")); err != nil {
		t.Skip("internal/outside/node_modules is absent (run make test, or npm ci there): the check against outside libraries is left out")
	}
	cmd := exec.Command(node, "--input-type=module", "--eval", script)
	cmd.Dir = dir
	cmd.Stdin = bytes.NewReader(stdin)
	var out, errw bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errw
	if err := cmd.Run(); err != nil {
		t.Fatalf("node: %v\n%s", err, errw.Bytes())
	}
	return out.Bytes()
}

// Tool returns the path of a command from the system's packages, or skips the test naming it.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed: the check against it is left out", name)
	}
	return path
}

// Data returns the path of a folder or file of the open test data, which is kept outside the
// project: below EVENHAND_DATA, or ../shared/data beside the project. It skips the test where the
// data is absent.
func Data(t testing.TB, elem ...string) string {
	t.Helper()
	dir := os.Getenv("EVENHAND_DATA")
	if dir == "" {
		dir = filepath.Join(Root(), "..", "shared", "data")
	}
	path := filepath.Join(append([]string{dir}, elem...)...)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("no test data %s below EVENHAND_DATA: the check on it is left out", filepath.Join(elem...))
	}
	return path
}

// Root is the top folder of the project.
func Root() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Dir(filepath.Dir(filepath.Dir(file)))
}
