package capture

import (
	"runtime"
	"testing"
	"time"
)

// TestTenHours records four notes a second for ten hours: nothing is kept in memory but the notes
// themselves, and all of them are in the file.
func TestTenHours(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	const hours, perHour, perNote = 10, 4 * 3600, 64 // bytes: a Note, and room to grow
	r, err := Record(t.TempDir(), Take{Started: started}, func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	inUse := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	before := inUse()
	for i := range hours * perHour {
		at := time.Duration(i) * 250 * ms
		r.Add(on(at, byte(60+i%12), 80))
		r.Add(off(at+200*ms, byte(60+i%12)))
	}
	if grown := int64(inUse()) - int64(before); grown > hours*perHour*perNote {
		t.Errorf("ten hours hold %d KiB, %d bytes a note; want at most %d", grown>>10, grown/(hours*perHour), perNote)
	} else {
		t.Logf("%d KiB, %d bytes a note", grown>>10, grown/(hours*perHour))
	}
	path, err := r.Close()
	if err != nil {
		t.Fatal(err)
	}
	take, err := ReadFile(path)
	if err != nil || len(take.Notes) != hours*perHour {
		t.Errorf("%v: %d notes of %d", err, len(take.Notes), hours*perHour)
	}
}
