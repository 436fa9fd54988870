//go:build cgo && (linux || darwin || windows)

#include "native.h"

#include <iostream>

#ifdef __linux__
#include <alsa/asoundlib.h>
#endif

#ifdef __UNIX_JACK__
#include <jack/jack.h>
#include <jack/midiport.h>
#include <jack/ringbuffer.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <string>
#include <thread>

struct native_jack {
  jack_client_t *client;
  std::atomic<bool> ended;
};

static void say_nothing(const char *) {}

static void ended(void *arg) { static_cast<native_jack *>(arg)->ended = true; }

native_jack *native_jack_open(const char *name) {
  jack_client_t *client = jack_client_open(name, JackNoStartServer, nullptr);
  if (client == nullptr) return nullptr;
  native_jack *jack = new native_jack;
  jack->client = client;
  jack->ended = false;
  jack_on_shutdown(client, ended, jack);
  return jack;
}

void native_jack_close(native_jack *jack) {
  jack_client_close(jack->client);
  delete jack;
}

int native_jack_alive(const native_jack *jack) { return !jack->ended; }

int native_jack_answers(native_jack *jack) {
  if (jack->ended) return 0;
  char *uuid = jack_get_uuid_for_client_name(jack->client, jack_get_client_name(jack->client));
  jack_free(uuid);
  return uuid != nullptr;
}

// The last second name of a port: bridges put the name of the device there.
static std::string alias(const jack_port_t *port) {
  std::string first(jack_port_name_size(), '\0'), second(first);
  char *names[] = {&first[0], &second[0]};
  int n = jack_port_get_aliases(port, names);
  return n > 0 ? names[n - 1] : "";
}

char *native_jack_ports(native_jack *jack, int giving) {
  std::string lines;
  const char **names = jack_get_ports(jack->client, nullptr, JACK_DEFAULT_MIDI_TYPE,
                                      giving ? JackPortIsOutput : JackPortIsInput);
  for (int i = 0; names != nullptr && names[i] != nullptr; i++) {
    const jack_port_t *port = jack_port_by_name(jack->client, names[i]);
    if (port == nullptr) continue;
    lines += std::string(names[i]) + "\t" + alias(port) + "\n";
  }
  jack_free(names);
  return strdup(lines.c_str());
}

int native_jack_linked(native_jack *jack, const char *name, const char *tail) {
  const jack_port_t *port = jack_port_by_name(jack->client, name);
  if (port == nullptr) return 0;
  int linked = 0;
  const char **names = jack_port_get_all_connections(jack->client, port);
  for (int i = 0; names != nullptr && names[i] != nullptr; i++) {
    size_t whole = strlen(names[i]), part = strlen(tail);
    if (whole >= part && strcmp(names[i] + whole - part, tail) == 0) linked = 1;
  }
  jack_free(names);
  return linked;
}

void native_jack_cycle(native_jack *jack, unsigned *frames, unsigned *rate) {
  *frames = jack_get_buffer_size(jack->client);
  *rate = jack_get_sample_rate(jack->client);
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

native_jack *native_jack_open(const char *) { return nullptr; }
void native_jack_close(native_jack *) {}
int native_jack_alive(const native_jack *) { return 0; }
int native_jack_answers(native_jack *) { return 0; }
char *native_jack_ports(native_jack *, int) { return nullptr; }
int native_jack_linked(native_jack *, const char *, const char *) { return 0; }
void native_jack_cycle(native_jack *, unsigned *frames, unsigned *rate) { *frames = *rate = 0; }
native_jack_out *native_jack_out_open(const char *, const char *, const char *) { return nullptr; }
int native_jack_out_send(native_jack_out *, const void *, unsigned) { return 0; }
int native_jack_out_waiting(native_jack_out *) { return 0; }
void native_jack_out_close(native_jack_out *) {}

#endif

#ifdef __linux__
static void say_nothing_either(const char *, int, const char *, int, const char *, ...) {}
#endif

void native_silence(void) {
  // RtMidi is the only C++ code in the program besides this file, and writes here only to complain.
  std::cerr.setstate(std::ios_base::failbit);
#ifdef __linux__
  snd_lib_error_set_handler(say_nothing_either);
#endif
#ifdef __UNIX_JACK__
  jack_set_error_function(say_nothing);
  jack_set_info_function(say_nothing);
#endif
}
