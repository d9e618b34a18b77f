/* Keys: presses into answer lines. */
#include "screen/keys.h"

#include <string.h>

#include "screen/names.h"
#include "screen/text.h"

void keys_init(struct keys *k)
{
    memset(k, 0, sizeof *k);
    k->writing = k->sure = ANSWER_COUNT;
}

static void forget(struct keys *k)
{
    k->typed_len = 0;
    k->typed[0] = 0;
    k->held = 0;
    k->burst = 0;
}

void keys_prompt(struct keys *k, uint32_t prompt, uint64_t now)
{
    uint16_t burst = k->burst;
    forget(k);
    k->burst = burst; /* of a scan that it opens in the middle of the Enter is still to come */
    k->prompt = prompt;
    k->opened_at = now;
    k->waited = k->waits;
    k->writing = k->sure = ANSWER_COUNT;
    k->listing = false;
    k->hint = HINT_NONE;
}

void keys_waits(struct keys *k, bool waits)
{
    k->waits = waits;
}

void keys_sight(struct keys *k, bool shown, uint64_t now)
{
    if (k->hidden != shown)
        return;
    keys_prompt(k, k->prompt, now);
    k->hidden = !shown;
    k->sight_at = now;
}

void keys_drop(struct keys *k, uint64_t now)
{
    k->stale = true;
    k->last_at = now;
}

static bool takes(const struct view *v, enum answer_word word)
{
    if (word == ANSWER_YES && (v->rests || v->waits))
        return v->rests; /* while it waits it is not said again */
    return v->prompt.answers & UINT32_C(1) << word;
}

bool keys_scale_dead(const struct view *v)
{
    for (uint8_t i = 0; i < v->scale_count; i++)
        if (v->scales[i].wanted)
            return v->scales[i].link != LINK_UP;
    return false;
}

/* "unnamed" is the station's name for whoever works where nobody signs in. */
bool keys_people(const struct view *v)
{
    return v->person[0] && strcmp(v->person, "unnamed") != 0;
}

/* An interrupted or held batch: go on, or what else there is. */
static bool resumes(const struct view *v)
{
    return v->prompt.ask == ASK_RESUME && v->prompt.what != WHAT_RETRY;
}

enum keys_mode keys_mode(const struct keys *k, const struct view *v)
{
    const struct prompt *p = &v->prompt;
    if (k->writing != ANSWER_COUNT)
        return KEYS_TYPE;
    if (resumes(v) || (v->state == BATCH_PAUSED && p->ask != ASK_RESUME && p->ask != ASK_PERSON))
        return KEYS_MENU;
    switch (p->ask) {
    case ASK_PERSON:
    case ASK_LOT:
        return v->choice_count ? KEYS_PICK : KEYS_TYPE;
    case ASK_CHECK:
        return k->listing ? KEYS_PICK : KEYS_TYPE;
    case ASK_CONFIRM:
        return p->other ? KEYS_TYPE : KEYS_PICK;
    default:
        return KEYS_PICK;
    }
}

enum answer_word keys_word(const struct keys *k, const struct view *v)
{
    if (k->writing != ANSWER_COUNT)
        return (enum answer_word)k->writing;
    if (keys_mode(k, v) == KEYS_MENU)
        return ANSWER_COUNT;
    switch (v->prompt.ask) {
    case ASK_PERSON:
        return ANSWER_PERSON;
    case ASK_LOT:
        return ANSWER_LOT;
    case ASK_CHECK:
        return k->listing ? ANSWER_COUNT : ANSWER_VALUE;
    case ASK_CONFIRM:
        return v->prompt.other ? ANSWER_YES : ANSWER_COUNT;
    default:
        return ANSWER_COUNT;
    }
}

bool keys_lists(const struct view *v)
{
    bool asks_yes = (v->prompt.ask == ASK_CONFIRM || v->prompt.ask == ASK_MORE) &&
                    v->prompt.answers & UINT32_C(1) << ANSWER_YES; /* also while one waits */
    return v->choice_count && (asks_yes || v->prompt.ask == ASK_FILL || v->prompt.ask == ASK_CHECK);
}

bool keys_picks(const struct keys *k, const struct view *v)
{
    return v->choice_count && keys_mode(k, v) == KEYS_PICK && (k->listing || !keys_lists(v));
}

/* What is judged by a weight can't be answered while its scale is dead. One that was typed already may be typed anew when it is
 * asked for; out of its band it wants another lot or a reason. */
static bool types_weight(const struct view *v)
{
    return v->prompt.item && v->may_type && keys_scale_dead(v) && (!v->prompt.typed || v->prompt.ask == ASK_CONFIRM);
}

enum answer_word keys_writes(const struct view *v)
{
    bool judged = v->prompt.ask == ASK_OVER || v->prompt.ask == ASK_UNDER ||
                  (v->prompt.ask == ASK_CONFIRM && v->prompt.what == WHAT_WEIGHT);
    if (judged && types_weight(v))
        return ANSWER_TYPED;
    switch (v->prompt.ask) {
    case ASK_PERSON:
        return v->choice_count ? ANSWER_PERSON : ANSWER_COUNT;
    case ASK_LOT:
        return v->choice_count ? ANSWER_LOT : ANSWER_COUNT;
    case ASK_UNDER:
        return takes(v, ANSWER_LOT) ? ANSWER_LOT : takes(v, ANSWER_SHORT) ? ANSWER_SHORT : ANSWER_COUNT;
    case ASK_OVER:
    case ASK_CONFIRM:
        return takes(v, ANSWER_KEEP) && !takes(v, ANSWER_YES) ? ANSWER_KEEP : ANSWER_COUNT;
    case ASK_ADD: /* of which item: its number stands before its name */
        return takes(v, ANSWER_DISCARD) ? ANSWER_DISCARD : ANSWER_COUNT;
    case ASK_CLEAR:
    case ASK_CONTAINER:
    case ASK_FILL:
        return types_weight(v) ? ANSWER_TYPED : ANSWER_COUNT;
    default:
        return ANSWER_COUNT;
    }
}

/* The answer line. Nothing more is taken for this prompt until the station has had time to say something about it. */
static bool answer(struct keys *k, const struct view *v, enum answer_word word, const char *value, uint64_t now,
                   char *line)
{
    struct text t;
    text_begin(&t, line, ANSWER_LINE);
    if (v->prompt_n) { /* meant for what stood on the screen: the station refuses it if another prompt has opened */
        text_put(&t, "@");
        text_number(&t, v->prompt_n);
        text_put(&t, " ");
    }
    text_put(&t, answer_text(word));
    if (value[0]) {
        text_put(&t, " ");
        text_put(&t, value);
    }
    if (word == ANSWER_TYPED) {
        text_put(&t, " ");
        text_put(&t, unit_text(v->unit ? (enum mass_unit)v->unit : UNIT_G));
    }
    forget(k);
    k->answered = k->prompt;
    k->answered_at = now;
    k->writing = k->sure = ANSWER_COUNT;
    k->listing = false;
    return true;
}

static void write_value(struct keys *k, enum answer_word word)
{
    forget(k);
    k->writing = (uint8_t)word;
    k->hint = HINT_NONE;
}

static bool pick(struct keys *k, const struct view *v, unsigned place, uint64_t now, char *line)
{
    if (place >= v->choice_count || !keys_picks(k, v))
        return false;
    const struct view_choice *c = &v->choices[place];
    const char *value;
    (void)answer_list_word(&v->prompt, (enum answer_word)c->word, &value);
    if (!c->text[0] && value[0]) {
        write_value(k, (enum answer_word)c->word);
        return false;
    }
    return answer(k, v, (enum answer_word)c->word, c->text, now, line);
}

/* Paused: 1 is always the harmless way, and what can't be undone wants a second, different key. */
static bool menu(struct keys *k, const struct view *v, uint32_t key, uint64_t now, char *line)
{
    if (k->sure != ANSWER_COUNT) {
        enum answer_word word = (enum answer_word)k->sure;
        k->sure = ANSWER_COUNT;
        return key == KEY_SURE && answer(k, v, word, "", now, line);
    }
    switch (key) {
    case KEY_PAUSE:
    case '1':
        if (resumes(v)) /* nothing goes on by a second press of the pause key */
            return key == '1' && takes(v, ANSWER_YES) && answer(k, v, ANSWER_YES, "", now, line);
        return answer(k, v, ANSWER_GO, "", now, line);
    case '2':
        k->sure = ANSWER_STOP;
        return false;
    case '3':
        k->sure = ANSWER_ABORT;
        return false;
    case '4':
        if (keys_people(v))
            write_value(k, ANSWER_PERSON);
        return false;
    default:
        return false;
    }
}

/* A key that answers by itself and turned out not to begin a scan. */
static bool hot(struct keys *k, const struct view *v, uint32_t key, uint64_t now, char *line)
{
    forget(k);
    k->hint = HINT_NONE;
    if (keys_mode(k, v) == KEYS_MENU)
        return menu(k, v, key, now, line);
    if (key == KEY_PAUSE)
        return answer(k, v, ANSWER_PAUSE, "", now, line);
    if (key == KEY_WRITE) {
        if (k->writing != ANSWER_COUNT)
            k->writing = ANSWER_COUNT;
        else if (keys_writes(v) != ANSWER_COUNT)
            write_value(k, keys_writes(v));
        else
            k->listing = !k->listing && keys_lists(v);
        return false;
    }
    if (key == KEY_LAST && takes(v, ANSWER_DONE))
        return answer(k, v, ANSWER_DONE, "", now, line);
    if (key == KEY_LAST && takes(v, ANSWER_NO))
        return answer(k, v, ANSWER_NO, "", now, line);
    return key >= '1' && key <= '9' && pick(k, v, key - '1', now, line);
}

static void append(struct keys *k, uint32_t key)
{
    char bytes[4] = {0};
    unsigned n = utf8_put(key, bytes);
    if (utf8_unsafe(key) || k->typed_len + n > CAP_REASON - 1)
        return;
    memcpy(k->typed + k->typed_len, bytes, n);
    k->typed_len = (uint16_t)(k->typed_len + n);
    k->typed[k->typed_len] = 0;
}

/* True for a key that answers by itself: inside a text only the pause key does. */
static bool is_hot(const struct keys *k, const struct view *v, uint32_t key)
{
    if (key == KEY_PAUSE)
        return true;
    if (k->typed_len && keys_word(k, v) != ANSWER_COUNT)
        return false;
    return key == KEY_WRITE || (keys_mode(k, v) != KEYS_TYPE && key >= '0' && key <= '9');
}

/* Is this character so close behind another one? */
static bool is_fast(const struct keys *k, uint64_t now)
{
    return k->last_at && now - k->last_at <= KEYS_SCAN_GAP && k->last_key != KEY_PRESS_ENTER;
}

/* A key that would answer by itself is held back; if another character follows in its time, both are text. Anything faster
 * than fingers is a scan, of which no character is a key. */
static void character(struct keys *k, const struct view *v, uint32_t key, uint64_t now)
{
    bool fast = is_fast(k, now);
    if (k->held) {
        append(k, k->held);
        k->held = 0;
        append(k, key);
        return;
    }
    if (!fast && keys_word(k, v) == ANSWER_COUNT) {
        k->typed_len = 0; /* what is left of a scan that nobody asked for */
        k->typed[0] = 0;
    }
    if (!fast && is_hot(k, v, key))
        k->held = key;
    else if (keys_word(k, v) == ANSWER_VALUE && key == ',')
        append(k, '.');
    else
        append(k, key);
}

static bool enter_text(struct keys *k, const struct view *v, bool scan, uint64_t now, char *line)
{
    enum answer_word word = keys_word(k, v);
    char value[ANSWER_LINE];
    memcpy(value, k->typed, k->typed_len + 1U);
    if (word == ANSWER_TYPED && scan) { /* a number on a label is not what the scale would show */
        k->hint = HINT_SCAN;
        forget(k);
        return false;
    }
    return answer(k, v, word, value, now, line);
}

static bool enter(struct keys *k, const struct view *v, uint64_t now, char *line)
{
    uint64_t gap = now - k->last_at;
    /* Some scanners send their Enter late, so a burst of characters counts as one for a while. */
    bool scan = k->burst && (gap <= KEYS_SCAN_GAP || (k->burst >= 3 && gap <= KEYS_SCAN_TAIL));
    if (k->held) /* a digit and Enter at once: the digit is the answer, no scan is one character long */
        return hot(k, v, k->held, now, line);
    if (k->typed_len && keys_word(k, v) != ANSWER_COUNT)
        return enter_text(k, v, scan, now, line);
    forget(k);
    if (scan) {
        k->hint = HINT_SCAN;
        return false;
    }
    if (keys_mode(k, v) == KEYS_TYPE) {
        k->hint = HINT_TYPE;
        return false;
    }
    bool asked = keys_mode(k, v) == KEYS_PICK || (resumes(v) && k->sure == ANSWER_COUNT);
    return asked && takes(v, ANSWER_YES) && answer(k, v, ANSWER_YES, "", now, line);
}

static void back(struct keys *k)
{
    k->held = 0;
    if (!k->typed_len) {
        k->writing = k->sure = ANSWER_COUNT;
        k->listing = false;
    }
    while (k->typed_len && (k->typed[--k->typed_len] & 0xC0) == 0x80)
        ; /* the bytes of one character */
    k->typed[k->typed_len] = 0;
}

/* True if nobody could have meant the key for the prompt: it came before that stood on the screen, or it doesn't stand there. */
static bool too_early(struct keys *k, const struct view *v, uint32_t key, uint64_t now)
{
    uint64_t gap = now - k->last_at;
    if (k->prompt != v->prompt_n) {
        keys_drop(k, now);
        return true;
    }
    if (k->stale && gap <= KEYS_STALE_GAP) {
        k->stale = key != KEY_PRESS_ENTER;
        return true;
    }
    k->stale = false;
    bool offered = v->offered_at && v->offered_at >= k->sight_at;
    uint64_t opened_at = key == KEY_PRESS_ENTER && offered ? v->offered_at : k->opened_at;
    bool again = key == KEY_PRESS_ENTER && k->waited && !k->typed_len;
    uint64_t early = again ? KEYS_IMPATIENT : KEYS_EARLY;
    if (now - opened_at < early && key != KEY_PAUSE) { /* a pause does no harm, whatever the prompt */
        k->hint = HINT_EARLY;
        k->stale = key != KEY_PRESS_ENTER;
        return true;
    }
    return k->hidden || (k->prompt && k->answered == k->prompt && now - k->answered_at < KEYS_AGAIN);
}

bool keys_press(struct keys *k, const struct view *v, uint32_t key, uint64_t now, char line[ANSWER_LINE])
{
    bool repeat = key == KEY_PRESS_ENTER && k->last_key == key && now - k->last_at < KEYS_REPEAT;
    bool made = false;
    if (key != KEY_PRESS_ENTER) /* what is dropped counts too */
        k->burst = (uint16_t)(is_fast(k, now) || k->held ? k->burst + 1 : 1);
    if (too_early(k, v, key, now) || repeat) {
        k->held = 0;
    } else if (key == KEY_PRESS_ENTER) {
        made = enter(k, v, now, line);
    } else if (key == KEY_PRESS_BACK) {
        back(k);
    } else {
        character(k, v, key, now);
    }
    if (key == KEY_PRESS_ENTER)
        k->burst = 0;
    k->last_key = key;
    k->last_at = now;
    return made;
}

bool keys_idle(struct keys *k, const struct view *v, uint64_t now, char line[ANSWER_LINE])
{
    if (!k->held || now - k->last_at < KEYS_HOLD)
        return false;
    uint32_t key = k->held;
    k->held = 0;
    return k->prompt == v->prompt_n && hot(k, v, key, now, line);
}

uint64_t keys_wake(const struct keys *k)
{
    return k->held ? k->last_at + KEYS_HOLD : 0;
}
