//go:build cgo && (linux || darwin || windows)

#include "native_in.h"

#ifdef __UNIX_JACK__
#include <jack/jack.h>
#include <jack/midiport.h>
#include <jack/ringbuffer.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <thread>

namespace {

// An input of our own on the server.
struct jack_in : native_in {
  jack_client_t *client;
  jack_port_t *port = nullptr;
  clock::time_point last;  // when the last message came

  explicit jack_in(jack_client_t *c) : client(c) {}
  void stop() override { jack_client_close(client); }
};

// Runs on the server's thread, once a cycle. It neither waits nor takes memory.
int hear(jack_nframes_t frames, void *arg) {
  jack_in *in = static_cast<jack_in *>(arg);
  void *buffer = jack_port_get_buffer(in->port, frames);
  uint32_t events = jack_midi_get_event_count(buffer);
  if (events == 0) return 0;
  // The time of the call, and of the frame within the cycle where the sender says one. The server's own time
  // of frames is smoother, but runs wrong for a while when a busy machine has missed cycles.
  native_in::clock::time_point now = native_in::clock::now();
  jack_nframes_t rate = jack_get_sample_rate(in->client);
  for (uint32_t i = 0; i < events; i++) {
    jack_midi_event_t event;
    if (jack_midi_event_get(&event, buffer, i) != 0) continue;
    native_in::clock::time_point at = std::max(in->last, now + std::chrono::nanoseconds(event.time * INT64_C(1000000000) / rate));
    in->take(at - in->last, at, event.buffer, event.size);
    in->last = at;
  }
  return 0;
}

}  // namespace

native_in *native_in_open_jack(const char *name, const char *port, const char *source) {
  jack_client_t *client = jack_client_open(name, JackNoStartServer, nullptr);
  if (client == nullptr) return nullptr;
  jack_in *in = new jack_in(client);
  in->port = jack_port_register(client, port, JACK_DEFAULT_MIDI_TYPE, JackPortIsInput, 0);
  if (in->port != nullptr && jack_set_process_callback(client, hear, in) == 0 && jack_activate(client) == 0 &&
      jack_connect(client, source, jack_port_name(in->port)) == 0) {
    return in;
  }
  in->stop();
  delete in;
  return nullptr;
}

struct native_jack_out {
  jack_client_t *client;
  jack_port_t *port;
  jack_ringbuffer_t *ring;  // messages, each after its size
  std::atomic<unsigned> cycles;
};

// Runs on the server's thread, once a cycle. What a cycle has no room for waits for the next.
static int play(jack_nframes_t frames, void *arg) {
  native_jack_out *out = static_cast<native_jack_out *>(arg);
  out->cycles++;
  void *buffer = jack_port_get_buffer(out->port, frames);
  jack_midi_clear_buffer(buffer);
  unsigned size;
  while (jack_ringbuffer_peek(out->ring, reinterpret_cast<char *>(&size), sizeof size) == sizeof size &&
         jack_ringbuffer_read_space(out->ring) >= sizeof size + size) {
    jack_midi_data_t *to = jack_midi_event_reserve(buffer, 0, size);
    if (to == nullptr) break;
    jack_ringbuffer_read_advance(out->ring, sizeof size);
    jack_ringbuffer_read(out->ring, reinterpret_cast<char *>(to), size);
  }
  return 0;
}

// A connection holds from one of the next cycles on; what is sent before is lost. On a server whose cycles do
// not come, this gives up after a fifth of a second.
static void settle(native_jack_out *out) {
  unsigned begun = out->cycles;
  for (int i = 0; i < 200 && out->cycles - begun < 3; i++) std::this_thread::sleep_for(std::chrono::milliseconds(1));
}

native_jack_out *native_jack_out_open(const char *name, const char *port, const char *target) {
  jack_client_t *client = jack_client_open(name, JackNoStartServer, nullptr);
  if (client == nullptr) return nullptr;
  native_jack_out *out = new native_jack_out{client, nullptr, jack_ringbuffer_create(16384), {0}};
  out->port = jack_port_register(client, port, JACK_DEFAULT_MIDI_TYPE, JackPortIsOutput, 0);
  if (out->ring != nullptr && out->port != nullptr && jack_set_process_callback(client, play, out) == 0 &&
      jack_activate(client) == 0 &&
      (target == nullptr || jack_connect(client, jack_port_name(out->port), target) == 0)) {
    if (target != nullptr) settle(out);
    return out;
  }
  native_jack_out_close(out);
  return nullptr;
}

int native_jack_out_send(native_jack_out *out, const void *message, unsigned size) {
  if (jack_ringbuffer_write_space(out->ring) < sizeof size + size) return 0;
  jack_ringbuffer_write(out->ring, reinterpret_cast<const char *>(&size), sizeof size);
  jack_ringbuffer_write(out->ring, static_cast<const char *>(message), size);
  return 1;
}

int native_jack_out_waiting(native_jack_out *out) { return jack_ringbuffer_read_space(out->ring) > 0; }

void native_jack_out_close(native_jack_out *out) {
  jack_client_close(out->client);
  if (out->ring != nullptr) jack_ringbuffer_free(out->ring);
  delete out;
}

#else

native_in *native_in_open_jack(const char *, const char *, const char *) { return nullptr; }
native_jack_out *native_jack_out_open(const char *, const char *, const char *) { return nullptr; }
int native_jack_out_send(native_jack_out *, const void *, unsigned) { return 0; }
int native_jack_out_waiting(native_jack_out *) { return 0; }
void native_jack_out_close(native_jack_out *) {}

#endif
