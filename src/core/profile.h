/* Scale profile: the shape of what a scale sends, as data. Read from profiles/scales/NAME.ini by src/files. */
#ifndef CORE_PROFILE_H
#define CORE_PROFILE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/capacity.h"
#include "core/reading.h"

#define PROFILE_FIELDS 16
#ifndef PROFILE_WORDS /* both can be set lower for a small board */
#define PROFILE_WORDS 24
#endif
#ifndef PROFILE_BITS
#define PROFILE_BITS 24
#endif
#ifndef PROFILE_BLOCKS /* 0 where there is only a serial line: reports and registers take a kilobyte of program */
#define PROFILE_BLOCKS 1
#endif
#ifndef PROFILE_RAW /* 0 leaves out what only binary frames need: bits, packed or reversed digits, lengths, check sums */
#define PROFILE_RAW 1
#endif
#define PROFILE_WORD 12     /* bytes of one literal or word */
#define PROFILE_COMMAND 16  /* bytes of a request, tare or zero command */
#define PROFILE_LINE_MAX 64 /* longest line, terminator included */

/* One field of a line, in order. width 0: as many bytes as belong to it. */
enum field_kind {
    FIELD_LITERAL, /* exactly these bytes */
    FIELD_SKIP,    /* width bytes of anything */
    FIELD_STATUS,  /* one of the status words, padded with blanks to width */
    FIELD_BASIS,   /* gross/net word */
    FIELD_SIGN,    /* a sign word; without any in the profile '+', '-' or blank, one byte */
    FIELD_WEIGHT,  /* digits with an optional decimal sign, blanks or zeros before; may hold its own sign */
    FIELD_UNIT,    /* a unit word, padded to width */
    FIELD_BLANKS,  /* any number of blanks, also none */
    FIELD_OUNCES,  /* beside a weight of whole pounds: the ounces, less than 16 */
    FIELD_NUMBER,  /* another figure of the line, or blanks: looked at, not taken */
    FIELD_BITS,    /* one byte, of which some bits have names */
    FIELD_OPEN,    /* no byte: here begins what the check sum is over; without it at the line's first byte */
    FIELD_CLOSE,   /* no byte: here it ends; without it at the check sum */
    FIELD_CHECK,   /* the check sum */
    FIELD_LINE,    /* only as a word's kind: the word is all of the line */
};
/* How the digits of a weight, ounces or number field stand in it. */
#define FIGURE_PACKED 1   /* two digits a byte, the higher one in the higher four bits */
#define FIGURE_REVERSED 2 /* the lowest digit (or byte) first */

struct profile_field {
    uint8_t kind;   /* enum field_kind */
    uint8_t width;  /* bytes; 0 = variable */
    uint8_t len;    /* of text, FIELD_LITERAL only */
    uint8_t digits; /* FIGURE_ */
    char text[PROFILE_WORD];
};

/* What a word means: an enum reading_state (in a status field, or as the whole line), reading_basis or mass_unit, or of a
 * sign 0 = not negative, 1 = negative. */
struct profile_word {
    uint8_t kind; /* FIELD_STATUS, FIELD_BASIS, FIELD_UNIT, FIELD_SIGN or FIELD_LINE */
    uint8_t means;
    uint8_t len;
    char text[PROFILE_WORD];
};

/* What a byte of a FIELD_BITS means where (byte & mask) == value. The kind is that of the word that would say the same;
 * FIELD_WEIGHT: the weight has `means` decimals; FIELD_LITERAL: it is so in every frame, or it is none. */
struct profile_bit {
    uint8_t byte; /* which FIELD_BITS, from 0 */
    uint8_t mask, value;
    uint8_t kind;
    uint8_t means;
};

enum profile_sends {
    SENDS_CONTINUOUS,
    SENDS_POLLED,
    SENDS_SETTLED, /* one line for each weight that has come to rest */
    SENDS_KEY,     /* one line for each press of its print key */
};
enum profile_minus { MINUS_BEFORE, MINUS_AFTER, MINUS_BRACKETS };

enum sum_method { SUM_NONE, SUM_PLAIN, SUM_XOR, SUM_CRC_MODBUS, SUM_CRC_CCITT, SUM_CRC_XMODEM };
enum check_negated { NEGATED_NOT, NEGATED_ONES, NEGATED_TWOS };
struct profile_check {
    uint8_t method;  /* enum sum_method */
    uint8_t bits;    /* that are kept of it: 7, 8 or 16; a CRC has 16 */
    uint8_t negated; /* enum check_negated: what is sent is its ones' or two's complement */
    bool raw;        /* as bytes; else as hexadecimal digits, of either case */
    bool low_first;  /* of two raw bytes */
};

#define PLACES_IN_BITS 255
enum profile_parity { PARITY_NONE, PARITY_EVEN, PARITY_ODD };
enum profile_flow { FLOW_NONE, FLOW_RTSCTS, FLOW_XONXOFF };

struct profile_command {
    uint8_t len; /* 0: the scale has no such command */
    char bytes[PROFILE_COMMAND];
};

/* What the scale sends: lines (or frames) of bytes; or blocks, which a driver hands over with their length before them
 * (decode_block.h). */
enum profile_form { FORM_LINES, FORM_REPORTS, FORM_REGISTERS };

/* FORM_REPORTS: data reports of the weighing page of USB HID. FORM_REGISTERS: one Modbus request reads them all, so that
 * weight and status are of one moment. */
struct profile_block {
    uint8_t report;   /* id of the data report */
    uint8_t function; /* 3 holding or 4 input registers */
    uint8_t count;    /* registers that are read */
    uint8_t weight;   /* place of the weight's first register among them, */
    uint8_t status;   /* and of the status register, */
    bool has_status;  /* whose high byte is [bits]' first, its low byte the second */
    uint8_t words;    /* 1 or 2 registers of weight */
    bool low_first;   /* of two */
    bool is_signed;   /* two's complement */
    uint16_t factor;  /* steps of the last decimal in one count, from 1 */
};

struct profile {
    char name[CAP_KEY];
    uint8_t form; /* enum profile_form */
    struct profile_block block;
    uint32_t baud;
    uint8_t bits, stop;   /* 7 or 8; 1 or 2 */
    uint8_t parity, flow; /* enum profile_parity, profile_flow */
    uint8_t sends;        /* enum profile_sends */
    uint8_t length;       /* > 0: frames are told by their length, which is this, with their end if they have one */
    uint8_t end_len;      /* terminator, 1 or 2 bytes; 0 only with a length */
    char end[2];
    struct profile_command request, tare, zero, units;
    uint32_t period_ms;  /* of polling, or the usual gap between continuous lines; of the rest their least gap */
    uint32_t timeout_ms; /* polled: an answer later than this is asked for again */
    uint32_t silent_ms;  /* no good line for so long: "scale silent" */
    uint8_t unit;        /* fixed unit where the line has none; UNIT_NONE otherwise */
    char decimal;        /* '.' or ',' */
    uint8_t implied;     /* decimals that the line leaves out; 0 if it shows its decimal sign; or PLACES_IN_BITS */
    bool zeros;          /* before the digits stand zeros, never blanks */
    uint8_t minus;       /* enum profile_minus: where a figure that holds its own sign has it */
    uint8_t basis;       /* enum reading_basis where the line has no gross/net word */
    bool has_motion;     /* some status word tells stable from moving */
    struct profile_check check;
    uint8_t field_count, word_count, bit_count;
    struct profile_field fields[PROFILE_FIELDS];
    struct profile_word words[PROFILE_WORDS];
    struct profile_bit named[PROFILE_BITS];
};

#endif
