package ports

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Input finds the input that choice names: its number, or its name or a part of it in upper or
// lower case. An empty choice is the only piano there is.
func (l Lists) Input(choice string) (Port, error) { return l.choose(l.In, "input", choice) }

// Output finds an output as [Lists.Input] finds an input.
func (l Lists) Output(choice string) (Port, error) { return l.choose(l.Out, "output", choice) }

func (l Lists) choose(ports []Port, kind, choice string) (Port, error) {
	choice = strings.TrimSpace(choice)
	if len(ports) == 0 {
		return Port{}, l.none(kind)
	}
	if choice == "" {
		return l.only(ports, kind)
	}
	// A number beyond the list may still be part of a name.
	if n, err := strconv.Atoi(choice); err == nil && n >= 1 && n <= len(ports) {
		return ports[n-1], nil
	}
	found := named(ports, choice)
	switch len(found) {
	case 0:
		return Port{}, fmt.Errorf("%w by the name or number %q: there is %s", none(kind), choice, join(ports))
	case 1:
		return found[0], nil
	}
	return Port{}, fmt.Errorf("%q may be any of the MIDI %ss %s: give the number, or more of the name", choice, kind, join(found))
}

// only is the port to take where none was named.
func (l Lists) only(ports []Port, kind string) (Port, error) {
	var pianos []Port
	for _, p := range ports {
		if !p.Through {
			pianos = append(pianos, p)
		}
	}
	switch len(pianos) {
	case 0:
		return Port{}, l.none(kind)
	case 1:
		return pianos[0], nil
	}
	return Port{}, fmt.Errorf("there is more than one MIDI %s, %s: choose one by its number or a part of its name", kind, join(pianos))
}

// none is the error where there is nothing to choose from.
func (l Lists) none(kind string) error {
	why := ""
	if len(l.Missing) > 0 {
		why = " (" + strings.Join(l.Missing, "; ") + ")"
	}
	return fmt.Errorf("%w: switch the piano on and connect it by USB or through a MIDI interface%s", none(kind), why)
}

func none(kind string) error {
	if kind == "output" {
		return fmt.Errorf("%w to play to", ErrNone)
	}
	return ErrNone
}

// named are the ports with this very name, or else those with it as a part.
func named(ports []Port, choice string) []Port {
	var parts []Port
	choice = strings.ToLower(choice)
	for _, p := range ports {
		name, address := strings.ToLower(p.Name), strings.ToLower(p.Address)
		if name == choice || address == choice {
			return []Port{p}
		}
		if strings.Contains(name, choice) || strings.Contains(alsaAddress.ReplaceAllString(address, ""), choice) || strings.HasSuffix(address, " "+choice) {
			parts = append(parts, p)
		}
	}
	return parts
}

func join(ports []Port) string {
	words := make([]string, len(ports))
	for i, p := range ports {
		words[i] = p.String()
	}
	return strings.Join(words, ", ")
}

// client is the name that evenhand's own ports go by in the machine's lists.
const client = "evenhand"

var (
	// JACK numbers the clients of one name.
	ownPort = regexp.MustCompile(`^` + client + `(-\d+)?:`)
	// ALSA's way of writing an address, which RtMidi puts after the name.
	alsaAddress = regexp.MustCompile(` \d+:\d+$`)
	// The JACK clients that carry ALSA's ports over.
	bridge  = regexp.MustCompile(`^(a2j|system|alsa_pcm|alsa_midi|Midi-Bridge):`)
	through = regexp.MustCompile(`(?i)\bmidi[ -]through\b`)
)

// port makes a Port of what a system calls it, or says that it is one of our own. The second name,
// where there is one, is kinder to people.
func port(system System, address, alias string) (p Port, own bool) {
	if ownPort.MatchString(address) {
		return Port{}, true
	}
	name := address
	if system == ALSA {
		name = alsaAddress.ReplaceAllString(name, "")
	}
	name = once(name)
	if alias != "" {
		name = alias
	}
	return Port{Name: name, Address: address, System: system, Through: through.MatchString(address)}, false
}

// once is a name without the device before it where that is said again: "Piano:Piano MIDI 1".
func once(name string) string {
	if device, rest, ok := strings.Cut(name, ":"); ok && strings.HasPrefix(rest, device) {
		return rest
	}
	return name
}

// number leaves out the JACK ports that are ALSA's own seen through a bridge, as ALSA times its
// notes one by one and JACK by the cycle, and numbers the rest.
func number(ports []Port) []Port {
	kept := make([]Port, 0, len(ports))
	for _, p := range ports {
		if p.System == JACK && bridge.MatchString(p.Address) && bridged(p, ports) {
			continue
		}
		p.Number = len(kept) + 1
		kept = append(kept, p)
	}
	return kept
}

// bridged says whether a JACK port is one of ALSA's: a bridge names it by ALSA's name of the device.
func bridged(p Port, all []Port) bool {
	for _, q := range all {
		if device, _, ok := strings.Cut(q.Address, ":"); ok && q.System == ALSA && strings.Contains(plain(p.Address+" "+p.Name), plain(device)) {
			return true
		}
	}
	return false
}

// plain is a name with everything but letters and digits taken out: bridges put other marks
// in their place.
func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r > 127 {
			return r
		}
		return -1
	}, strings.ToLower(name))
}
