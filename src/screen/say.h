/* Say: one thing that the station says. The JSON lines and the plain lines are made from it; docs/protocol.md has the keys. */
#ifndef SCREEN_SAY_H
#define SCREEN_SAY_H

#include "core/sequence.h"
#include "screen/view.h"

enum say_kind {
    SAY_HELLO,
    SAY_PROMPT,
    SAY_RECORDED,
    SAY_NOTED,
    SAY_NOTICE,
    SAY_REFUSED,
    SAY_STATE,
    SAY_END,
    SAY_READING,
    SAY_CUE /* plain lines only: a JSON line for each reading has it */
};

struct say {
    uint8_t kind;              /* enum say_kind */
    uint32_t n;                /* line number, from 1 in each process; given by the station */
    uint64_t at;               /* monotonic microseconds; no line shows it yet */
    const char *batch;         /* "" = none yet */
    const struct setup *setup; /* names: ingredients, scales */
    uint8_t lang;              /* index into the formula's languages */
    uint8_t unit, places;      /* how the scale in question shows masses; UNIT_NONE: worked out from its division */
    /* HELLO */
    bool resumed;
    bool held;                           /* the batch is: product is withheld */
    const char *last_batch, *last_state; /* "" = none */
    /* PROMPT: sequence state's own; items: what goes in now (ADD). NOTED, REFUSED: the prompt that was answered, or NULL */
    const struct prompt *prompt;
    const uint16_t *items;
    uint16_t item_count;
    const struct item *work; /* the batch's items, work[id - 1], for the names of `items`; NULL: only their numbers */
    const struct view_choice *choices; /* what a digit picks (plain lines list them), or NULL */
    uint8_t choice_count;
    const struct item *item; /* PROMPT, RECORDED, NOTED: the item meant, or NULL */
    const struct step *step; /* PROMPT, NOTED of add, instruction, check */
    /* RECORDED (WEIGHED), NOTED (MORE, BASIS, TUB, ADDED, INSTRUCTED, CHECKED, SIGNED_IN, DISCARDED ...) */
    const struct record *record;
    int64_t seq;
    /* NOTICE, REFUSED, STATE, END */
    const struct effect *effect;
    uint32_t to;     /* REFUSED: line number of the prompt it answers; 0 = none */
    unsigned room;   /* REFUSED: it was longer than so many bytes; 0 = it was not its length */
    const char *why; /* more words from a driver or the store, or NULL */
    /* READING */
    uint8_t scale;
    bool has_weight, has_net;
    mass_pg gross, net;
    uint8_t settled; /* enum settle_state */
    bool rests;      /* a yes to the fill would be taken now */
    /* READING, CUE: as sequence_flow; has_flow: known */
    bool has_flow;
    uint8_t cue;
    mass_pg flow, flow_error, lands;
    bool cues; /* PROMPT of a fill: cues can be told on its scale */
};

/* The sentence for what is said, in plain words, without line end. Returns its length. The one place where codes become
 * sentences; JSON's `text` is the same. */
size_t say_sentence(const struct say *s, char *buf, size_t cap);
/* One JSON line without line end (protocol.md). Returns its length, 0 if it did not fit. */
size_t say_json(const struct say *s, char *buf, size_t cap);
/* Plain lines (may hold several, each ended by \n; empty for what plain mode does not show). */
size_t say_plain(const struct say *s, char *buf, size_t cap);

#endif
