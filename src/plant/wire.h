/* Wire: the pretend scale's end of a serial line, a pseudo-terminal of its own or a tty it is given.
 *
 * Bytes leave at the pace of the baud rate: each is written when its last bit would be on the wire. What finds no room
 * (nobody reads) or no reader at the other end is lost, as on a real line. Nothing here blocks. */
#ifndef PLANT_WIRE_H
#define PLANT_WIRE_H

#include <limits.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/profile.h"

#define WIRE_WHY 240
#define WIRE_QUEUE 1200

struct wire {
    int fd;              /* -1: unplugged */
    bool pseudo;         /* our own pseudo-terminal; false: a tty given by its path */
    bool reader;         /* somebody has the other end open */
    char path[PATH_MAX]; /* what a reader opens (pseudo), or the tty given */
    const char *link;    /* symbolic link to keep at path, or NULL */
    uint32_t byte_ns;    /* start, data, parity and stop bits of one byte */
    uint64_t begun_us;   /* when the first queued byte's start bit went out */
    uint16_t len, sent;  /* of queue */
    uint64_t lost;       /* bytes that found no reader or no room */
    char queue[WIRE_QUEUE];
};

/* on: the tty to use, NULL for a new pseudo-terminal. Opens nothing yet. */
void wire_init(struct wire *w, const struct profile *p, const char *on, const char *link);
/* Opens (anew) and makes the link. False with one sentence. */
bool wire_plug(struct wire *w, const struct profile *p, char why[WIRE_WHY]);
/* Closes: the reader's tty hangs up; the link goes. */
void wire_unplug(struct wire *w);

/* Queues bytes behind those still going out. False (nothing queued): no room, or unplugged. */
bool wire_send(struct wire *w, const char *bytes, size_t n, uint64_t now_us);
bool wire_idle(const struct wire *w);
/* Writes what is due by now. */
void wire_pump(struct wire *w, uint64_t now_us);
/* When the next byte is due, UINT64_MAX if none is. */
uint64_t wire_due(const struct wire *w);
/* What the reader sent; 0 if nothing, -1 if a given tty hung up. */
int wire_read(struct wire *w, char *buf, size_t cap);
/* Looks whether the other end is open; on its closing, what was left unread is dropped as a tty does. */
void wire_look(struct wire *w);

#endif
