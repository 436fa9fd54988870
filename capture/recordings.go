package capture

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
)

// Recordings are the paths of the growing files in a folder that are being written now, the one begun
// first first. What a stopped program left behind is none. A folder that is not there has none.
func Recordings(dir string) ([]string, error) {
	names, err := folder(dir).names()
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("recordings cannot be looked for in %s: %w", dir, cause(err))
	}
	slices.Sort(names) // the names have the time
	var out []string
	for _, name := range names {
		if path := filepath.Join(dir, name); strings.HasSuffix(name, GrowingEnding) && Recording(path) {
			out = append(out, path)
		}
	}
	return out, nil
}

// Recording reports whether a growing file is there and being written.
func Recording(path string) bool {
	file, err := folder(filepath.Dir(path)).lock(filepath.Base(path))
	if err == nil {
		_ = file.Close() // nothing was written
	}
	return errors.Is(err, errLocked)
}
