package references

// Key is a major or minor key.
type Key struct {
	Tonic Name
	Minor bool
}

// lineOfFifths is the place of each natural note on the line of fifths, C at 0.
var lineOfFifths = [7]int{0, 2, 4, -1, 1, 3, 5}

// Fifths is the key signature: the number of sharps, or of flats below 0. The fifteen signatures
// in use run from -7 (C♭ major, A♭ minor) to 7 (C♯ major, A♯ minor); a key beyond them would need
// double sharps or flats in its signature.
func (k Key) Fifths() int {
	f := lineOfFifths[k.Tonic.Step] + 7*int(k.Tonic.Alter)
	if k.Minor {
		f -= 3
	}
	return f
}

// Usual reports whether the key has one of the fifteen signatures.
func (k Key) Usual() bool { return k.Fifths() >= -7 && k.Fifths() <= 7 }

// KeyOf is the key with the given signature.
func KeyOf(fifths int, minor bool) Key {
	k := Key{Minor: minor}
	place := fifths
	if minor {
		place += 3
	}
	// The seven letters lie on the line of fifths in the order F C G D A E B, from -1 to 5.
	for s, at := range lineOfFifths {
		if (place-at)%7 == 0 {
			k.Tonic = Name{Step(s), int8((place - at) / 7)}
		}
	}
	return k
}

// Signature is the notes of the key signature in the order they are written.
func (k Key) Signature() []Name {
	const sharps, flats = "FCGDAEB", "BEADGCF"
	order, alter, n := sharps, int8(1), k.Fifths()
	if n < 0 {
		order, alter, n = flats, -1, -n
	}
	var sig []Name
	for i := 0; i < n; i++ {
		// Beyond seven the letters come round again, with one accidental more.
		sig = append(sig, Name{stepOf(order[i%7]), alter * int8(1+i/7)})
	}
	return sig
}

// Twin is the key on the same piano keys with the other kind of accidental and the shorter
// signature: A♭ major for G♯ major.
func (k Key) Twin() Key {
	f := k.Fifths()
	for f > 6 {
		f -= 12
	}
	for f < -6 {
		f += 12
	}
	if f == k.Fifths() {
		switch {
		case f > 0:
			f -= 12
		case f < 0:
			f += 12
		}
	}
	return KeyOf(f, k.Minor)
}

// String gives "B♭ major".
func (k Key) String() string {
	if k.Minor {
		return k.Tonic.String() + " minor"
	}
	return k.Tonic.String() + " major"
}

// stepOf is the step of a capital letter from A to G.
func stepOf(letter byte) Step { return Step((int(letter) - 'C' + 7) % 7) }
