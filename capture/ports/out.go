package ports

import "sync"

// Out is an open output. Its methods may be called from any goroutine.
type Out struct {
	mu     sync.Mutex
	driver driver
	sink   sink
}

// OpenOut opens the output that choice names, as [Lists.Output] finds it.
func OpenOut(choice string) (*Out, error) {
	return openOut(func(d driver) (sink, error) {
		p, err := d.list().Output(choice)
		if err != nil {
			return nil, err
		}
		return d.openOut(p)
	})
}

// OpenVirtual makes a port of this name that other programs see as an input, as if it were a piano.
// JACK and, where no JACK server runs, ALSA or Core MIDI can do so.
func OpenVirtual(name string) (*Out, error) {
	return openOut(func(d driver) (sink, error) { return d.openVirtual(name) })
}

func openOut(open func(driver) (sink, error)) (*Out, error) {
	d, err := newDriver()
	if err != nil {
		return nil, err
	}
	s, err := open(d)
	if err != nil {
		d.close()
		return nil, err
	}
	return &Out{driver: d, sink: s}, nil
}

// Send sends one whole MIDI message at once.
func (o *Out) Send(message ...byte) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.sink == nil {
		return errClosed
	}
	return o.sink.send(message)
}

// Close sends what is on its way and closes the output. A second call does nothing.
func (o *Out) Close() {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.sink == nil {
		return
	}
	o.sink.close()
	o.driver.close()
	o.sink = nil
}
