package smf

// maxVLQ is the largest variable-length quantity: four bytes of seven bits (RP-001).
const maxVLQ = 1<<28 - 1

// vlq reads a variable-length quantity at the head of b and gives how many bytes it took; n is 0
// where b ends within it, and -1 where its value is more than four bytes can hold. Leading bytes
// that add nothing (0x80) are read past, so that n may be more than 4.
func vlq(b []byte) (v uint32, n int) {
	for i, c := range b {
		if v > maxVLQ>>7 {
			return 0, -1
		}
		v = v<<7 | uint32(c&0x7F)
		if c < 0x80 {
			return v, i + 1
		}
	}
	return 0, 0
}

// appendVLQ writes v, which is at most maxVLQ, in as few bytes as will do.
func appendVLQ(b []byte, v uint32) []byte {
	for shift := 21; shift > 0; shift -= 7 {
		if v>>shift != 0 {
			b = append(b, byte(v>>shift)|0x80)
		}
	}
	return append(b, byte(v)&0x7F)
}
