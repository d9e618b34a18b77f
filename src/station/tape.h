/* Tape: everything that comes into a run from outside, in loop order, as one text file. Written by `weigh --capture`, read by
 * `weigh --replay`: the same bytes at the same times give the same effects and the same journal hashes, to the last bit.
 *
 * docs/capture.md lists the lines. Each is one letter or word, a blank and its values; texts follow their line raw. */
#ifndef STATION_TAPE_H
#define STATION_TAPE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#define TAPE_LINE 8192 /* longest line with NUL: an entry of the open batch is at most half of it (PAYLOAD_MAX) */
#define TAPE_BYTES 256 /* in one line of hex: one read of a scale (FEEDER_READ) */

struct tape {
    FILE *file; /* NULL: nothing is captured */
    bool reading;
    bool broken; /* written: the disk refused; read: not of the format */
    unsigned line_number;
    bool held; /* the line in hand was put back */
    char line[TAPE_LINE];
};

/* False with a sentence in why. */
bool tape_create(struct tape *t, const char *path, char *why, size_t cap);
bool tape_open(struct tape *t, const char *path, char *why, size_t cap);
void tape_close(struct tape *t);

/* One line; nothing where nothing is captured. */
void tape_write(struct tape *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
void tape_write_hex(struct tape *t, const char *head, const uint8_t *bytes, size_t n);
/* A whole text under a role: "text ROLE LENGTH PATH", then the text, then a line end. */
void tape_write_text(struct tape *t, const char *role, const char *path, const char *text, size_t len);

/* The next line, NULL at the end. */
const char *tape_next(struct tape *t);
/* Gives the line back: the next tape_next returns it again. */
void tape_hold(struct tape *t);
/* The next line if it begins with this word and a blank (or is the word): what follows. NULL and held otherwise. */
const char *tape_expect(struct tape *t, const char *word);
/* The text of this role if it comes next: its length, -1 otherwise. path may be NULL. */
long tape_read_text(struct tape *t, const char *role, char *path, size_t path_cap, char *text, size_t cap);
/* The next value of a line's rest, which moves past it: a whole number, a word of at most cap - 1 bytes. */
bool tape_int(const char **rest, int64_t *out);
bool tape_word(const char **rest, char *out, size_t cap);
/* Hex digits to bytes: how many, or -1. */
int tape_hex(const char *hex, uint8_t *out, size_t cap);
void tape_to_hex(const uint8_t *bytes, size_t n, char *out); /* 2 n + 1 bytes */

#endif
