// What RtMidi leaves out: keeping the sound libraries quiet, and asking a JACK server about itself.
// Built without JACK (no __UNIX_JACK__) there is never a server.
#ifndef EVENHAND_NATIVE_H
#define EVENHAND_NATIVE_H

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
