package references

import (
	"fmt"
	"strconv"
)

// Quarters is a length of written time in quarter notes, as an exact fraction. The zero value is
// no time at all; two equal lengths are equal under ==.
type Quarters struct {
	num  int64
	less int64 // the denominator less one, so that the zero value is 0/1
}

// Q returns num/den quarter notes in lowest terms. It panics where den is not positive, which only
// a programming error can bring about.
func Q(num, den int64) Quarters {
	if den <= 0 {
		panic(fmt.Sprintf("references: denominator %d of a length in quarters", den))
	}
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return Quarters{num: num, less: den - 1}
}

// Num is the numerator in lowest terms.
func (q Quarters) Num() int64 { return q.num }

// Den is the denominator in lowest terms, at least 1.
func (q Quarters) Den() int64 { return q.less + 1 }

// Add returns q + r.
func (q Quarters) Add(r Quarters) Quarters {
	if q.less == r.less {
		return Q(q.num+r.num, q.Den())
	}
	return Q(q.num*r.Den()+r.num*q.Den(), q.Den()*r.Den())
}

// Sub returns q - r.
func (q Quarters) Sub(r Quarters) Quarters { return q.Add(Quarters{-r.num, r.less}) }

// Times returns q scaled by num/den.
func (q Quarters) Times(num, den int64) Quarters { return Q(q.num*num, q.Den()*den) }

// Cmp returns -1, 0 or +1 as q is before, at or after r.
func (q Quarters) Cmp(r Quarters) int {
	a, b := q.num*r.Den(), r.num*q.Den()
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// Less reports whether q is before r.
func (q Quarters) Less(r Quarters) bool { return q.Cmp(r) < 0 }

// Float is q as a decimal number of quarter notes.
func (q Quarters) Float() float64 { return float64(q.num) / float64(q.Den()) }

// String gives "3", "1/2", "-5/3".
func (q Quarters) String() string {
	if q.less == 0 {
		return strconv.FormatInt(q.num, 10)
	}
	return fmt.Sprintf("%d/%d", q.num, q.Den())
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
