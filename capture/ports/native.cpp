//go:build cgo && (linux || darwin || windows)

#include "native.h"

#include <iostream>

#ifdef __linux__
#include <alsa/asoundlib.h>
#endif

#ifdef __UNIX_JACK__
#include <jack/jack.h>

#include <atomic>
#include <cstdlib>
#include <cstring>
#include <string>

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

#else

native_jack *native_jack_open(const char *) { return nullptr; }
void native_jack_close(native_jack *) {}
int native_jack_alive(const native_jack *) { return 0; }
int native_jack_answers(native_jack *) { return 0; }
char *native_jack_ports(native_jack *, int) { return nullptr; }
int native_jack_linked(native_jack *, const char *, const char *) { return 0; }
void native_jack_cycle(native_jack *, unsigned *frames, unsigned *rate) { *frames = *rate = 0; }

#endif

#ifdef __linux__
static void say_nothing_either(const char *, int, const char *, int, const char *, ...) {}
#endif

void native_silence(void) {
  // RtMidi is the only C++ code in the program besides ours, and writes here only to complain.
  std::cerr.setstate(std::ios_base::failbit);
#ifdef __linux__
  snd_lib_error_set_handler(say_nothing_either);
#endif
#ifdef __UNIX_JACK__
  jack_set_error_function(say_nothing);
  jack_set_info_function(say_nothing);
#endif
}
