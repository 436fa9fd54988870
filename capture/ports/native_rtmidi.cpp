//go:build cgo && (linux || darwin || windows)

#include "native_in.h"

#include <string>

// RtMidi's C interface, as far as it is used here. Its Go binding, which links it in, does not hand out the
// header, and can only call Go on the driver's thread.
extern "C" {
struct RtMidiWrapper {
  void *ptr, *data;
  bool ok;
  const char *msg;
};
RtMidiWrapper *rtmidi_in_create(int api, const char *client, unsigned queue);
void rtmidi_in_free(RtMidiWrapper *);
void rtmidi_in_set_callback(RtMidiWrapper *, void (*)(double, const unsigned char *, size_t, void *), void *);
void rtmidi_in_ignore_types(RtMidiWrapper *, bool exclusive, bool time, bool sensing);
unsigned rtmidi_get_port_count(RtMidiWrapper *);
int rtmidi_get_port_name(RtMidiWrapper *, unsigned, char *, int *size);
void rtmidi_open_port(RtMidiWrapper *, unsigned, const char *name);
}

namespace {

// The number of the port of this name, or -1.
int find(RtMidiWrapper *midi, const char *name) {
  unsigned count = rtmidi_get_port_count(midi);
  for (unsigned i = 0; midi->ok && i < count; i++) {
    int size = 0;
    rtmidi_get_port_name(midi, i, nullptr, &size);
    std::string got(size, '\0');
    rtmidi_get_port_name(midi, i, &got[0], &size);
    if (got.c_str() == std::string(name)) return i;
  }
  return -1;
}

struct rtmidi_in : native_in {
  RtMidiWrapper *midi;

  explicit rtmidi_in(RtMidiWrapper *m) : midi(m) {}

  void stop() override {
    // Here are the words that tell RtMidi's thread whom to call. It would free them before it ends that
    // thread; so they are left, a few bytes for each time a piano is opened.
    midi->data = nullptr;
    rtmidi_in_free(midi);
  }

  bool lists(const char *source) override { return find(midi, source) >= 0; }
};

void hear(double since, const unsigned char *bytes, size_t size, void *arg) {
  static_cast<rtmidi_in *>(arg)->take(std::chrono::nanoseconds(static_cast<int64_t>(since * 1e9)), native_in::clock::now(), bytes, size);
}

}  // namespace

native_in *native_in_open_rtmidi(int api, const char *client, const char *port, const char *source) {
  RtMidiWrapper *midi = rtmidi_in_create(api, client, 1);
  rtmidi_in *in = new rtmidi_in(midi);
  int found = midi->ok ? find(midi, source) : -1;
  if (found >= 0) {
    // Messages left out would take their time differences with them.
    rtmidi_in_ignore_types(midi, false, false, false);
    rtmidi_in_set_callback(midi, hear, in);
    rtmidi_open_port(midi, found, port);
    if (midi->ok) return in;
  }
  in->stop();
  delete in;
  return nullptr;
}
