package ear

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/internal/outside"
)

// readWAV reads a WAV file by the wave module of Python's standard library: an independent reading.
func readWAV(t *testing.T, file []byte) []float64 {
	t.Helper()
	cmd := exec.Command(outside.Tool(t, "python3"), "-c", `
import sys, io, wave
w = wave.open(io.BytesIO(sys.stdin.buffer.read()))
sys.stderr.write("%d channels, %d bytes, %d Hz, %s, %d frames" % (w.getnchannels(), w.getsampwidth(), w.getframerate(), w.getcomptype(), w.getnframes()))
sys.stdout.buffer.write(w.readframes(w.getnframes()))`)
	cmd.Stdin = bytes.NewReader(file)
	var out, about bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &about
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v: %s", err, about.String())
	}
	if want := fmt.Sprintf("1 channels, 2 bytes, 44100 Hz, NONE, %d frames", out.Len()/2); about.String() != want {
		t.Fatalf("the file has %s, want %s", about.String(), want)
	}
	samples := make([]float64, out.Len()/2)
	for i := range samples {
		samples[i] = float64(int16(binary.LittleEndian.Uint16(out.Bytes()[2*i:]))) / 32768
	}
	return samples
}

// strength is how strong one frequency is in a stretch of samples, by a Fourier sum under a Hann window.
func strength(x []float64, hz float64) float64 {
	var re, im float64
	for i, v := range x {
		window := 1 - math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		a := 2 * math.Pi * hz * float64(i) / 44100
		re, im = re+window*v*math.Cos(a), im+window*v*math.Sin(a)
	}
	return math.Hypot(re, im) / float64(len(x))
}

// TestWAV: the file is read by another program, no sample is clipped, there is silence at both ends, and
// each note has the pitch of equal temperament with A4 at 440 Hz (ISO 16).
func TestWAV(t *testing.T) {
	it := Draw(Change, 6, 1)
	var b bytes.Buffer
	if err := it.WriteWAV(&b); err != nil {
		t.Fatal(err)
	}
	x := readWAV(t, b.Bytes())
	peak := 0.0
	for _, v := range x {
		peak = math.Max(peak, math.Abs(v))
	}
	if peak < 0.5 || peak > 0.9 {
		t.Errorf("the loudest sample is %.3f of full scale", peak)
	}
	if math.Abs(x[0]) > 0.001 || math.Abs(x[len(x)-1]) > 0.001 {
		t.Errorf("it begins at %v and ends at %v", x[0], x[len(x)-1])
	}
	melody := it.Hearings[0].Sounds
	for _, s := range melody[len(melody)-8:] {
		from, to := int((s.On+20*time.Millisecond).Seconds()*44100), int(s.Off.Seconds()*44100)
		stretch := x[from:min(to, from+11025)]
		// The strongest frequency among those a semitone round, then to the cent.
		best, cents := 0.0, 0
		for _, steps := range [][3]int{{-100, 100, 20}, {-15, 15, 1}} {
			middle := cents
			for c := middle + steps[0]; c <= middle+steps[1]; c += steps[2] {
				hz := 440 * math.Pow(2, (float64(s.Key)-69)/12+float64(c)/1200)
				if p := strength(stretch, hz); p > best {
					best, cents = p, c
				}
			}
		}
		if abs(cents) > 2 {
			t.Errorf("key %d is %d cents off", s.Key, cents)
		}
	}
}

// TestWAVWithoutClicks: a click has all frequencies; the tone has none above 10 kHz. Where notes begin and
// end, and where many do, nothing is heard up there.
func TestWAVWithoutClicks(t *testing.T) {
	it := Draw(Beat, 6, 4)
	x := render(it.sounds())
	const size = 1024
	low, high := 0.0, 0.0
	for _, s := range it.sounds()[:24] {
		for _, at := range []time.Duration{s.On, s.Off, s.Off + release} {
			from := max(0, int(at.Seconds()*44100)-size/2)
			stretch := x[from : from+size]
			low = math.Max(low, strength(stretch, frequency(s.Key)))
			for hz := 14000.0; hz < 21000; hz += 500 {
				high = math.Max(high, strength(stretch, hz))
			}
		}
	}
	if high > low/3000 { // 70 dB
		t.Errorf("above 14 kHz there is %.2g of the tone", high/low)
	}
}

// TestWAVLoudness: a key struck harder sounds louder, by 0.26 dB a unit.
func TestWAVLoudness(t *testing.T) {
	x := render([]Sound{{60, 60, 0, time.Second}, {60, 100, 2 * time.Second, 3 * time.Second}})
	soft, loud := strength(x[4410:26460], frequency(60)), strength(x[88200+4410:88200+26460], frequency(60))
	if db := 20 * math.Log10(loud/soft); math.Abs(db-40*0.26) > 0.1 {
		t.Errorf("40 units are %.2f dB", db)
	}
}

// TestMIDI: the file has the notes of all hearings, as our reader and Debian's midicsv find them.
func TestMIDI(t *testing.T) {
	it := Draw(Change, 5, 8)
	var b bytes.Buffer
	if err := it.WriteMIDI(&b); err != nil {
		t.Fatal(err)
	}
	take, err := capture.ReadSMF(bytes.NewReader(b.Bytes()), "item.mid")
	if err != nil {
		t.Fatal(err)
	}
	want := len(it.Hearings[0].Sounds) + len(it.Hearings[1].Sounds)
	if len(take.Notes) != want {
		t.Errorf("%d notes, want %d", len(take.Notes), want)
	}
	second := take.Notes[len(it.Hearings[0].Sounds)]
	if d := second.On - it.Begins(1); d.Abs() > time.Millisecond {
		t.Errorf("the second hearing begins at %v, want %v", second.On, it.Begins(1))
	}
	cmd := exec.Command(outside.Tool(t, "midicsv"), "-")
	cmd.Stdin = &b
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var keys []string
	for line := range strings.Lines(string(out)) {
		if f := strings.Split(strings.TrimSpace(line), ", "); len(f) > 5 && f[2] == "Note_on_c" {
			keys = append(keys, f[4])
		}
	}
	var all []string
	for _, s := range it.sounds() {
		all = append(all, fmt.Sprint(s.Key))
	}
	slices.Sort(keys)
	slices.Sort(all)
	if !slices.Equal(keys, all) {
		t.Errorf("midicsv reads the keys %v, want %v", keys, all)
	}
}

func BenchmarkWAV(b *testing.B) {
	it := Draw(Beat, 8, 1)
	for b.Loop() {
		if err := it.WriteWAV(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
