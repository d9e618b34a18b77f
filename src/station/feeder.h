/* Feeder: one scale's line, from its device to readings: port, profile and decoder in one.
 *
 * In two halves, so that recorded input can be played back to the last bit:
 *   feeder_read  touches the device: bytes and their time, or "it is up", "it is down";
 *   feeder_take  is pure: those bytes (also when there are none) into readings. A replay calls it alone, and
 *                feeder_line_reset where feeder_read said FEEDER_UP.
 *
 * The loop, for each feeder:
 *     poll on feeder_watch's descriptor until the earliest feeder_wake;
 *     switch (feeder_read(&f, revents, now, &bytes))
 *     case FEEDER_BYTES: while ((r = feeder_take(&f.line, &bytes, &reading)) != DECODE_MORE) ...
 * It may be called at every wake-up: where nothing is due it does nothing.
 *
 * A read that ends inside a line is followed by sleep until the rest must have come (by the usual length of the line and
 * the line's speed), so bytes that come one by one cost two wake-ups a line and not one each. */
#ifndef STATION_FEEDER_H
#define STATION_FEEDER_H

#include "core/decode.h"
#include "drivers/driver.h"

#define FEEDER_READ 256        /* bytes in one read */
#define FEEDER_DEVICE 256      /* a device text with NUL */
#define FEEDER_RETRY_US 500000 /* between two tries to open a device that went away */
#define FEEDER_MARGIN_US 1000  /* added to the time that the rest of a line needs */

/* What one read brought. */
struct feeder_bytes {
    uint64_t at;  /* monotonic microseconds, just before the read */
    uint16_t len; /* 0 .. FEEDER_READ; fewer than FEEDER_READ: the port was left empty */
    uint16_t pos; /* how far feeder_take has come */
    uint8_t data[FEEDER_READ];
};

/* The pure half's state. */
struct feeder_line {
    const struct profile *profile;
    struct decoder decoder;
    uint64_t drained; /* time of the newest read (or opening) that left the port empty: the next line's `since` */
    uint32_t whole;   /* whole lines so far, good or bad */
};

enum feeder_event {
    FEEDER_NOTHING, /* nothing was due */
    FEEDER_BYTES,   /* a read was made: hand the bytes to feeder_take, also when len is 0 */
    FEEDER_UP,      /* the device is open again (feeder_line_reset has been called) */
    FEEDER_DOWN,    /* it is gone; why says it. It is tried again until FEEDER_UP */
    /* There again, but not to be opened, as why says; each reason is said once, and it is tried on: */
    FEEDER_TAKEN,    /* another program holds it */
    FEEDER_UNUSABLE, /* no permission, settings that it doesn't take, a name that may be another scale's (wary) ... */
};
enum feeder_command { FEEDER_TARE, FEEDER_ZERO, FEEDER_UNITS };

struct feeder {
    struct feeder_line line;
    struct port port;
    bool up;
    bool wary; /* the caller's: a port is not opened by a number that may be another's (drivers/numbered.h) */
    uint32_t
        why_not; /* why the newest try to open it again failed, and what of that was told (trouble_of in feeder.c) */
    uint32_t told;
    uint16_t last_len; /* of the newest read */
    uint64_t last_at;
    uint64_t retry; /* down: next try to open */
    uint64_t asked; /* time of the newest request; 0 = none since it came up */
    uint32_t asked_whole;
    char device[FEEDER_DEVICE];
    char why[DRIVER_WHY]; /* of the newest failure: what is wrong, what to do */
};

/* Touches nothing. The profile must outlive the feeder. False: the device text is too long. */
bool feeder_init(struct feeder *f, const struct profile *profile, const char *device);
/* The first opening. On failure f->why says it, and a caller that goes on gets FEEDER_UP when it is there. */
enum driver_result feeder_open(struct feeder *f, uint64_t now);
/* What to poll for. fd -1: nothing. events 0: only hang-ups, until feeder_wake. */
void feeder_watch(const struct feeder *f, int *fd, short *events);
/* The monotonic microsecond at which feeder_read wants to be called though no event came; 0 = none. */
uint64_t feeder_wake(const struct feeder *f);
/* One wake-up's work: opens again, reads once, asks a polled scale. revents: poll's, 0 if it said nothing. */
enum feeder_event feeder_read(struct feeder *f, short revents, uint64_t now, struct feeder_bytes *out);
/* The profile's command; its len is 0 if the scale takes none. */
const struct profile_command *feeder_command(const struct profile *p, enum feeder_command which);
/* Sends it. DRIVER_WRONG: scale or device takes none; DRIVER_MISSING: it is down. */
enum driver_result feeder_send(struct feeder *f, enum feeder_command which);
void feeder_close(struct feeder *f);

void feeder_line_reset(struct feeder_line *l, const struct profile *profile, uint64_t now);
/* Goes on from b->pos until something is whole; DECODE_MORE when all is taken. *out is set for DECODE_READING only. */
enum decode_result feeder_take(struct feeder_line *l, struct feeder_bytes *b, struct reading *out);

#endif
