/* Listen: shows what a scale's line brings, byte for byte, and what the profile makes of it; counts; may record it. */
#ifndef STATION_LISTEN_H
#define STATION_LISTEN_H

#include <signal.h>
#include <stdio.h>

#include "station/feeder.h"

#define LISTEN_TELL_US 5000000 /* how often the counts so far are said while bytes come */
#define LISTEN_RAW 160         /* bytes of one line that are shown; more are only counted */

struct listen_options {
    uint32_t count; /* end after so many readings; 0 = never */
    bool json;
    FILE *out;
    FILE *capture; /* recording to write, or NULL */
    bool sends;    /* one command, behind the first reading, or else when the scale has been silent for its time */
    enum feeder_command send;
};

/* What was seen, all counted from the opening. */
struct listen_counts {
    uint64_t bytes, skipped; /* skipped: before the first whole line, or between two that the profile takes */
    uint32_t readings;       /* with or without a weight */
    uint32_t no_weight;      /* over capacity, under zero, fault, unit that can't be known */
    uint32_t by_state[READING_NOTYET + 1]; /* readings by their enum reading_state */
    uint32_t bad, too_long;
    uint32_t requests;
    uint32_t gaps;                           /* between readings, longer than the profile's silent_ms */
    uint64_t longest_gap, first_at, last_at; /* microseconds; at == 0: no reading yet */
};

struct listen {
    struct listen_options options;
    struct feeder feeder;
    struct listen_counts counts;
    uint64_t start, now;
    uint64_t told; /* when the counts so far were last said */
    uint32_t n;    /* lines said */
    bool silent;   /* said, and not over yet */
    bool sent;
    uint16_t raw_len, raw_lost;
    uint8_t raw[LISTEN_RAW]; /* of the line that is being received */
};

/* Why listening ended. */
enum listen_end {
    LISTEN_COUNT,   /* so many readings as asked for */
    LISTEN_STOPPED, /* interrupted, or nobody reads the output any more */
    LISTEN_PLAYED,  /* a recording is at its end */
    LISTEN_TROUBLE, /* the device could not be opened, went away, or stayed silent (feeder.why is empty then) */
    LISTEN_CAPTURE, /* the recording could not be written */
};

/* The command's name, as the profile's key. */
const char *listen_command_text(enum feeder_command which);
/* Opens the device and listens until one of those. stop: set by a signal handler; the signal is let through only while
 * waiting. The closing summary has been said. */
enum listen_end listen_run(struct listen *l, const struct listen_options *options, const struct profile *profile,
                           const char *device, const volatile sig_atomic_t *stop);

/* The two faces (listen_say.c). */
void listen_say_hello(struct listen *l);
void listen_say_reading(struct listen *l, const struct reading *r, uint64_t gap);
/* BAD_LINE, TOO_LONG. */
void listen_say_bad(struct listen *l, enum decode_result what);
void listen_say_sent(struct listen *l);
void listen_say_silent(struct listen *l, uint64_t for_us);
/* The counts so far. */
void listen_say_counts(struct listen *l);
void listen_say_end(struct listen *l, enum listen_end end);

#endif
