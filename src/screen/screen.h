/* Screen: three faces of one station: a full screen (ncurses), plain lines, JSON lines.
 * Keys and lines both become answer lines of the protocol: "[@N] WORD [VALUE]". */
#ifndef SCREEN_SCREEN_H
#define SCREEN_SCREEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "screen/say.h"
#include "screen/view.h"

enum screen_kind { SCREEN_FULL, SCREEN_PLAIN, SCREEN_JSON };
#define ANSWER_LINE 200

struct screen {
    uint8_t kind;
    int in, out; /* descriptors */
    /* answer line being typed (plain, json), or the text typed in the full screen */
    char typed[ANSWER_LINE];
    uint16_t typed_len;
    bool too_long;
    uint64_t last_key, burst_since; /* for telling a scanner from fingers */
    uint8_t burst;
    uint32_t keys_prompt; /* the prompt the typed text belongs to */
    bool resized, writing_letters;
};

/* False with a sentence: no terminal, terminal too small (80x24 is needed), unknown terminal kind. */
bool screen_open(struct screen *s, enum screen_kind kind, int in, int out, char *why, size_t cap);
void screen_close(struct screen *s);
/* Something is said: one line or more, written at once (plain, json). The full screen shows it through the view instead.
 * False: the reader is gone. */
bool screen_say(struct screen *s, const struct say *what);
/* Brings the full screen up to date, writing only what changed. Others: nothing. */
void screen_draw(struct screen *s, const struct view *v);
/* Bytes are there on `in`: reads them. Call until it returns false; each true gives one answer line. *ended: end of input. */
bool screen_answer(struct screen *s, const struct view *v, uint64_t now, char line[ANSWER_LINE], bool *ended);
/* A line into an answer. The station resolves PERSON and a second's code. *at: the @N, 0 if none. */
enum refusal_code answer_parse(const char *line, struct answer *out, uint32_t *at);

#endif
