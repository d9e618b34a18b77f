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
#define SCREEN_INPUT 256
#define FAREWELL_MAX 240

/* What the keys of the full screen have come to so far (src/screen/keys.h). Times are monotonic microseconds. */
struct keys {
    uint32_t prompt;               /* the prompt that is on the screen; what is typed belongs to it */
    uint64_t opened_at;            /* when it came on the screen */
    uint64_t sight_at;             /* when the window last became large enough for it, or too small */
    uint32_t answered;             /* the prompt that was answered last */
    uint64_t answered_at, last_at; /* when; the newest key */
    uint32_t last_key, held;       /* held: a key that waits to be told from the first of a scan; 0 = none */
    uint16_t burst;                /* characters that came faster one after another than fingers type */
    uint16_t typed_len;            /* bytes of typed, which is UTF-8 with NUL */
    uint8_t writing;               /* enum answer_word whose value is being typed; ANSWER_COUNT = none */
    uint8_t sure;                  /* paused: STOP or ABORT waits for its second key; ANSWER_COUNT = none */
    uint8_t hint;                  /* enum key_hint */
    uint8_t escape, utf8_left;     /* inside an escape sequence; bytes still to come of a character */
    uint32_t utf8;
    bool stale;   /* the characters coming in began before the prompt opened */
    bool listing; /* a check: digits pick from the list instead of being the value */
    bool waits;   /* a yes to the prompt waits */
    bool waited;  /* one to the prompt before did when this one opened */
    bool hidden;  /* the window is too small to show the prompt: no key is meant for it */
    char typed[ANSWER_LINE];
};

struct screen {
    uint8_t kind;
    int in, out;             /* descriptors */
    bool ended;              /* end of input was seen */
    bool too_long;           /* plain, json: the line is longer than ANSWER_LINE; dropped up to its end */
    char typed[ANSWER_LINE]; /* plain, json: the line so far */
    uint16_t typed_len;
    uint16_t taken, filled; /* of input: bytes used, bytes read */
    uint8_t reads;          /* since screen_answer last returned false: an endless sender can't keep the station */
    char input[SCREEN_INPUT];
    struct keys keys;
    char farewell[FAREWELL_MAX]; /* full screen: how the batch stood last; left on the terminal that is given back */
};

/* False with a sentence: no terminal, terminal too small (80x24 is needed), unknown terminal kind. */
bool screen_open(struct screen *s, enum screen_kind kind, int in, int out, char *why, size_t cap);
void screen_close(struct screen *s);
/* Something is said: one line or more, written at once (plain, json). The full screen shows it through the view instead.
 * False: the reader is gone. */
bool screen_say(struct screen *s, const struct say *what);
/* Brings the full screen up to date, writing only what changed. Others: nothing. Also to be called after a signal
 * (SIGWINCH interrupts poll): the window may have another size. */
void screen_draw(struct screen *s, const struct view *v);
/* The full screen rings the terminal's bell for what wants the operator's eyes (over, refused, a cue; twice for stop), not for what went well; plain
 * and JSON lines say the same in words. */
void screen_sound(struct screen *s, enum sound sound);
/* Bytes are there on `in`: reads them. Call until it returns false; each true gives one answer line. *ended: end of input.
 * Then screen_draw: a key may have changed what is typed, though it answered nothing. */
bool screen_answer(struct screen *s, const struct view *v, uint64_t now, char line[ANSWER_LINE], bool *ended);
/* The monotonic microsecond at which screen_answer wants to be called though no byte came (a digit that turned out not to
 * begin a scan); 0 = never. */
uint64_t screen_wake(const struct screen *s);
/* A line into an answer; REFUSED_COUNT: it is one, otherwise why not (WORD or VALUE). The station resolves PERSON and a
 * second's code (`yes CODE`), both in out->who.code. *at: the @N, 0 if none; also set for a refused line that has one. */
enum refusal_code answer_parse(const char *line, struct answer *out, uint32_t *at);
/* Where an answer was refused for its length: how many bytes its value may have (a line without a word: the line); else 0. */
unsigned answer_room(const char *line);

#endif
