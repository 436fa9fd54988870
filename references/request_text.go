package references

// MarshalText is the request in its formal wording, so that JSON and TOML hold what a teacher can read.
func (r Request) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what MarshalText wrote, or any other wording that Parse knows.
func (r *Request) UnmarshalText(text []byte) error {
	read, err := Parse(string(text))
	if err == nil {
		*r = read
	}
	return err
}
