package ear

import (
	"bufio"
	"encoding/binary"
	"io"
	"math"
)

// writeWAV writes samples from -1 to 1 as a WAV file. The chunks are those of the RIFF WAVE format with
// 16-bit PCM (Microsoft & IBM (1991), "Multimedia Programming Interface and Data Specifications 1.0").
func writeWAV(w io.Writer, samples []float64) error {
	const bytesPerSample, header = 2, 36
	size := uint32(len(samples) * bytesPerSample)
	b := bufio.NewWriter(w)
	le := binary.LittleEndian
	var head []byte
	head = append(head, "RIFF"...)
	head = le.AppendUint32(head, header+size)
	head = append(head, "WAVEfmt "...)
	head = le.AppendUint32(head, 16)                  // length of the format chunk
	head = le.AppendUint16(head, 1)                   // PCM
	head = le.AppendUint16(head, 1)                   // channels
	head = le.AppendUint32(head, rate)                // samples a second
	head = le.AppendUint32(head, rate*bytesPerSample) // bytes a second
	head = le.AppendUint16(head, bytesPerSample)      // bytes a frame
	head = le.AppendUint16(head, 8*bytesPerSample)    // bits a sample
	head = append(head, "data"...)
	head = le.AppendUint32(head, size)
	if _, err := b.Write(head); err != nil {
		return err
	}
	for _, x := range samples {
		v := int16(math.Round(32767 * math.Max(-1, math.Min(1, x))))
		if _, err := b.Write([]byte{byte(v), byte(uint16(v) >> 8)}); err != nil {
			return err
		}
	}
	return b.Flush()
}
