/* Scale profile: the shape of what a scale sends, as data. Read from profiles/scales/NAME.ini by src/files. */
#ifndef CORE_PROFILE_H
#define CORE_PROFILE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/capacity.h"
#include "core/reading.h"

#define PROFILE_FIELDS 16
#define PROFILE_WORDS 24
#define PROFILE_WORD 8      /* bytes of one literal or word */
#define PROFILE_COMMAND 16  /* bytes of a request, tare or zero command */
#define PROFILE_LINE_MAX 64 /* longest line, terminator included */

/* One field of a line, in order. width 0: as many bytes as belong to it. */
enum field_kind {
    FIELD_LITERAL, /* exactly these bytes */
    FIELD_SKIP,    /* width bytes of anything */
    FIELD_STATUS,  /* one of the status words, padded with blanks to width */
    FIELD_BASIS,   /* gross/net word */
    FIELD_SIGN,    /* '+', '-' or blank, one byte */
    FIELD_WEIGHT,  /* digits with an optional decimal sign, blanks or zeros before; may hold its own sign */
    FIELD_UNIT,    /* a unit word, padded to width */
    FIELD_BLANKS,  /* any number of blanks, also none */
};
struct profile_field {
    uint8_t kind;  /* enum field_kind */
    uint8_t width; /* bytes; 0 = variable */
    uint8_t len;   /* of text, FIELD_LITERAL only */
    char text[PROFILE_WORD];
};

/* What a word in a status, basis or unit field means: an enum reading_state, reading_basis or mass_unit. */
struct profile_word {
    uint8_t kind; /* FIELD_STATUS, FIELD_BASIS or FIELD_UNIT */
    uint8_t means;
    uint8_t len;
    char text[PROFILE_WORD];
};

enum profile_sends { SENDS_CONTINUOUS, SENDS_POLLED };
enum profile_parity { PARITY_NONE, PARITY_EVEN, PARITY_ODD };
enum profile_flow { FLOW_NONE, FLOW_RTSCTS, FLOW_XONXOFF };

struct profile_command {
    uint8_t len; /* 0: the scale has no such command */
    char bytes[PROFILE_COMMAND];
};

struct profile {
    char name[CAP_KEY];
    uint32_t baud;
    uint8_t bits, stop;   /* 7 or 8; 1 or 2 */
    uint8_t parity, flow; /* enum profile_parity, profile_flow */
    uint8_t sends;        /* enum profile_sends */
    uint8_t end_len;      /* terminator, 1 or 2 bytes */
    char end[2];
    struct profile_command request, tare, zero;
    uint32_t period_ms;  /* of polling, or the usual gap between continuous lines */
    uint32_t timeout_ms; /* polled: an answer later than this is asked for again */
    uint32_t silent_ms;  /* no good line for so long: "scale silent" */
    uint8_t unit;        /* fixed unit where the line has none; UNIT_NONE otherwise */
    char decimal;        /* '.' or ',' */
    uint8_t implied;     /* decimals that the line leaves out; 0 if it shows its decimal sign */
    uint8_t basis;       /* enum reading_basis where the line has no gross/net word */
    bool has_motion;     /* some status word tells stable from moving */
    uint8_t field_count, word_count;
    struct profile_field fields[PROFILE_FIELDS];
    struct profile_word words[PROFILE_WORDS];
};

#endif
