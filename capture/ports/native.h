// What RtMidi leaves out: keeping the sound libraries quiet, and asking a JACK server about itself.
// Built without JACK (no __UNIX_JACK__) there is never a server.
#ifndef EVENHAND_NATIVE_H
#define EVENHAND_NATIVE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct native_jack native_jack;

// Stops the lines that RtMidi, ALSA and JACK print of their own accord.
void native_silence(void);

// Joins the running JACK server, of the name in JACK_DEFAULT_SERVER, as a client. NULL where there
// is none; it never starts one.
native_jack *native_jack_open(const char *client);
void native_jack_close(native_jack *);

// Whether the server has not ended since, as far as it has been noticed.
int native_jack_alive(const native_jack *);

// Whether the server answers a question now.
int native_jack_answers(native_jack *);

// The MIDI ports that give (outputs of other programs, pianos) or take, a line each: the name, a
// tab, and a second name or nothing. The caller frees it. NULL where memory is short.
char *native_jack_ports(native_jack *, int giving);

// Whether the port of this name is connected to one whose name ends in tail.
int native_jack_linked(native_jack *, const char *name, const char *tail);

// The process cycle: frames, and frames a second.
void native_jack_cycle(native_jack *, unsigned *frames, unsigned *rate);

// An open input. The driver's thread leaves the messages in it and wakes whoever waits.
typedef struct native_in native_in;

// A message of three bytes: the time since the one before it, by the driver, and since it came, both in
// nanoseconds.
typedef struct {
  int64_t since, age;
  unsigned char bytes[3];
} native_message;

// Opens an input on the JACK server: a client of this name with a port of this name, connected to the
// port called source. NULL where the server does not let it.
native_in *native_in_open_jack(const char *client, const char *port, const char *source);

// Opens an input by RtMidi, on the system with this number of its. NULL where there is no source of this
// name or it does not let itself be opened.
native_in *native_in_open_rtmidi(int api, const char *client, const char *port, const char *source);

// Waits until messages have come: 1. 0 once the input is closed; nothing may be done with it after that.
// One thread must wait again and again until then, as the input is freed when it has been told so too.
int native_in_wait(native_in *);

// Takes the oldest message; whether there was one.
int native_in_next(native_in *, native_message *);

// Whether the system still lists a source of this name, of an input by RtMidi.
int native_in_lists(native_in *, const char *source);

// Closes the input: no message comes after that.
void native_in_close(native_in *);

// An output of our own on the server. RtMidi's frees its buffer while the server's thread may still
// be reading it.
typedef struct native_jack_out native_jack_out;

// Opens a client of this name with a port of this name, connected to the port called target unless
// that is NULL. NULL where the server does not let it.
native_jack_out *native_jack_out_open(const char *client, const char *port, const char *target);

// Sends one message at the next cycle; whether there was room for it.
int native_jack_out_send(native_jack_out *, const void *message, unsigned size);

// Whether messages wait for the next cycle.
int native_jack_out_waiting(native_jack_out *);
void native_jack_out_close(native_jack_out *);

#ifdef __cplusplus
}
#endif
#endif
