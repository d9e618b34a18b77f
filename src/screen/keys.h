/* Keys: presses in the full screen become answer lines. Pure: time comes in, nothing is read or written.
 *
 * Made for a number pad and gloves, and so that no press answers what it was not meant for:
 *  - keys pressed before a prompt is on the screen, or before anybody can have read it, are dropped;
 *  - one press answers one prompt: a key that is held down answers once;
 *  - a scanner types like a keyboard, only faster. A key that would answer by itself waits KEYS_HOLD to be told from the
 *    first character of a scan. A scan is taken where a lot or a person's code is asked. Anywhere else it is dropped
 *    together with the Enter that ends it: a scan never accepts a weight. */
#ifndef SCREEN_KEYS_H
#define SCREEN_KEYS_H

#include "screen/screen.h"

#define KEYS_SCAN_GAP UINT64_C(30000) /* microseconds between two characters: a scanner, not fingers */
#define KEYS_HOLD UINT64_C(40000)
#define KEYS_STALE_GAP UINT64_C(60000)  /* characters this close belong together */
#define KEYS_EARLY UINT64_C(200000)     /* nobody reads and answers a prompt faster */
#define KEYS_IMPATIENT UINT64_C(600000) /* what a yes that waited brings: Enter may be pressed for the yes once more */
#define KEYS_AGAIN UINT64_C(300000)     /* after an answer: the same prompt takes the next one, if it was refused */
#define KEYS_REPEAT UINT64_C(120000)    /* the same key again this soon: it is held down */
#define KEYS_SCAN_TAIL UINT64_C(500000) /* how late the Enter of a scan may come */

/* Keys are Unicode characters; these are the others. */
#define KEY_PRESS_ENTER UINT32_C(0x0D)
#define KEY_PRESS_BACK UINT32_C(0x7F)
#define KEY_PAUSE ((uint32_t)'+')
#define KEY_WRITE ((uint32_t)'/')
#define KEY_LAST ((uint32_t)'0') /* nothing more comes */
#define KEY_SURE ((uint32_t)'9')

enum key_hint { HINT_NONE, HINT_EARLY, HINT_SCAN, HINT_TYPE };

/* What the keys mean now. */
enum keys_mode {
    KEYS_PICK, /* one press answers: Enter, a digit, the keys above */
    KEYS_TYPE, /* the presses are the value of keys_word() */
    KEYS_MENU, /* paused */
};

void keys_init(struct keys *k);
/* Another prompt came on the screen. What was typed is gone. */
void keys_prompt(struct keys *k, uint32_t prompt, uint64_t now);
/* A yes to the prompt on the screen waits, or does so no more. */
void keys_waits(struct keys *k, bool waits);
/* Does the prompt stand where it can be read? One that went out of sight is read anew when it is back. */
void keys_sight(struct keys *k, bool shown, uint64_t now);
/* A byte from the terminal: true if it completes a key. Escape sequences are passed over, but for the number pad's. */
bool keys_byte(struct keys *k, uint8_t byte, uint64_t now, uint32_t *key);
/* A key: true if it makes an answer line. */
bool keys_press(struct keys *k, const struct view *v, uint32_t key, uint64_t now, char line[ANSWER_LINE]);
/* No key for a while: true if the one that was held makes an answer line. */
bool keys_idle(struct keys *k, const struct view *v, uint64_t now, char line[ANSWER_LINE]);
/* When keys_idle wants to be called; 0 = never. */
uint64_t keys_wake(const struct keys *k);
/* Keys that were already there when a prompt came on the screen: one of them, dropped. */
void keys_drop(struct keys *k, uint64_t now);

enum keys_mode keys_mode(const struct keys *k, const struct view *v);
/* The word whose value is typed (KEYS_TYPE, and a text begun in KEYS_PICK); ANSWER_COUNT: no text is taken. */
enum answer_word keys_word(const struct keys *k, const struct view *v);
/* The choices stand behind KEY_WRITE: no single digit throws a portion away while filling or holds a batch that only wants
 * a yes, and at a check digits are the value. */
bool keys_lists(const struct view *v);
/* The digits pick from view.choices now. */
bool keys_picks(const struct keys *k, const struct view *v);
/* What KEY_WRITE would begin to write: ANSWER_COUNT = nothing. */
enum answer_word keys_writes(const struct view *v);
/* The scale that the step is on sends nothing: its weight may be typed by whom it is allowed. */
bool keys_scale_dead(const struct view *v);
/* People sign in here (there is a people file), so another one may take over. */
bool keys_people(const struct view *v);
/* "Enter accept   + pause": every key that does something now, in words. Returns its length. */
size_t keys_help(const struct keys *k, const struct view *v, char *buf, size_t cap);

#endif
