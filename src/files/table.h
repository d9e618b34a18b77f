/* Table: the keys of a file kind as data. The same rows read the file, give its defaults and print docs/files.md. */
#ifndef FILES_TABLE_H
#define FILES_TABLE_H

#include "files/ini.h"

/* What a key holds. The struct member it fills stands in brackets. */
enum key_type {
    KEY_TEXT,      /* words for people [char of `room`] */
    KEY_CODE,      /* a key of ours: a-z, 0-9 and '-' [char of `room`] */
    KEY_WHOLE,     /* a whole number from low to high [unsigned of `room` bytes] */
    KEY_THOUSANDS, /* a decimal of at most three places [int32_t, in thousandths] */
    KEY_MASS,      /* [mass_pg], low and high in picograms */
    KEY_TIME,      /* "1.5 s", "100 ms" [uint32_t, milliseconds] */
    KEY_BOOL,      /* yes or no [bool] */
    KEY_CHOICE,    /* one of `words`, its place [uint8_t] */
    KEY_FLAGS,     /* any of `words`, one bit each [uint8_t] */
    KEY_PERCENT,   /* "6.25 %", above 0, at most 100 [struct share] */
    KEY_BAND,      /* "2 %" or "5 g" [struct band_side] */
    KEY_AMOUNT,    /* [struct amount] */
    KEY_LIMIT,     /* "0.25 oz per 100 lb" or "156.25 ppm" [struct share] */
    KEY_BYTES,     /* bytes of a serial line with escapes [struct profile_command] */
    KEY_RAW,       /* the text itself, for its own reader [const char *, into the document] */
};

/* An ingredient's amount. */
struct amount {
    uint8_t base; /* BASE_MEAT or BASE_TOTAL */
    struct share share;
};

#define KEY_REQUIRED 1 /* a section without it is a fault */
#define KEY_LANGS 2    /* also KEY.LANGUAGE; [room] bytes per language */
#define KEY_NUMBERED 4 /* KEY.1, KEY.2 ... KEY.high; [room] bytes each */

struct key {
    const char *name;
    uint8_t type, flags;
    uint16_t room;
    size_t offset;
    int64_t low, high;
    const char *words;    /* CHOICE, FLAGS: "a|b|c" */
    const char *fallback; /* value when the key is absent, read like any other; NULL = none */
    const char *form;     /* what is expected, where the type alone does not say it; NULL */
    const char *help;
};

struct section_kind {
    const char *name;
    const char *title; /* what [name TITLE] names; NULL = no title */
    const char *help;
    const struct key *keys;
    unsigned key_count;
    unsigned least; /* how many there must be */
};

struct file_kind {
    const char *name;
    const char *folder; /* of shipped ones, under profiles/ */
    const char *help;
    const struct section_kind *sections; /* the first is the one by which the file is told */
    unsigned section_count;
};

extern const struct file_kind formula_kind, scale_kind, station_kind, people_kind, limits_kind;
extern const struct file_kind *const file_kinds[]; /* ended by NULL */

/* Languages of names in the file being read. */
struct languages {
    unsigned count;
    char code[CAP_LANGS][4];
};

/* Checks every section's name, title and number, reporting unknown, double and missing ones. False if some section is
 * unknown or unreadable: what seems to be missing may stand in it, and is not to be reported. */
bool table_sections(const struct file_kind *kind, const struct ini *doc);
/* The kind of a section, or NULL if it is not known. Its place in the file kind's list into *place. */
const struct section_kind *table_kind(const struct file_kind *kind, const struct ini_section *s, unsigned *place);
/* Fills *into (zeroed by the caller) from a section: unknown, double, missing and wrong keys are reported. */
void table_fill(const struct section_kind *kind, const struct ini *doc, const struct ini_section *s,
                const struct languages *langs, void *into);
/* A fault of a key of a section: "KEY = VALUE: what is wrong; expected ...". */
void table_fault(const struct ini *doc, const struct ini_section *s, const char *key, const char *wrong,
                 const char *expected);

/* Reads one value as the key says. NULL, or what is wrong with it. */
const char *value_take(const struct key *k, const char *value, void *into);
/* What the key expects, in words. */
void value_expected(const struct key *k, char *buf, size_t cap);
/* Bytes with the escapes \r \n \t \\ \" and \xHH, up to `quote` (which is passed over) or the end; *at moves along.
 * NULL, or what is wrong. */
const char *bytes_take(const char **at, char quote, char *out, size_t cap, uint8_t *len);

/* Splits a list at commas and blanks: the next word into out, NULL at the end or (with *too_long) if it has no room. */
const char *list_next(const char *at, char *out, size_t cap, bool *too_long);
/* True for a word of a-z, 0-9 and inner '-'. */
bool code_good(const char *text);

#endif
