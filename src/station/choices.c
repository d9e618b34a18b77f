/* Choices: what the digits pick at the open prompt. Between them, Enter and the keys of src/screen/keys.h every answer that
 * the prompt takes can be given. */
#include <string.h>

#include "station/inside.h"

static bool takes(const struct weigher *w, enum answer_word word)
{
    return w->seq.prompt.answers & (1u << word);
}

static void add_choice(struct view *v, enum answer_word word, const char *text)
{
    if (v->choice_count == VIEW_CHOICES)
        return;
    struct view_choice *c = &v->choices[v->choice_count++];
    size_t n = strnlen(text, sizeof c->text - 1);
    c->word = (uint8_t)word;
    memcpy(c->text, text, n);
    c->text[n] = '\0';
}

/* Lots of this ingredient seen lately, newest first: first in this batch, then in the journal. */
static void add_lots(struct weigher *w, int room)
{
    char lots[VIEW_CHOICES][STORE_LOT];
    const struct item *it = sequence_item(&w->seq, w->seq.prompt.item);
    if (!w->store || !it || it->ingredient == NO_INGREDIENT)
        return;
    int n = store_recent_lots(w->store, w->formula.ingredients[it->ingredient].key, lots, room);
    for (int k = 0; k < n; k++)
        if (w->seq.prompt.ask != ASK_UNDER || strcmp(lots[k], it->lot) != 0) /* more of its own lot is just poured on */
            add_choice(&w->view, ANSWER_LOT, lots[k]);
}

static void add_reasons(struct weigher *w, enum answer_word word, int room)
{
    for (int k = 0; k < w->station.reason_count && k < room; k++)
        add_choice(&w->view, word, w->station.reasons[k]);
    add_choice(&w->view, word, ""); /* one of one's own */
}

/* At an addition the thrown-away item is named by its number, and 0 is the key for no: neither needs a place here. */
void choices_make(struct weigher *w)
{
    struct view *v = &w->view;
    bool discard = takes(w, ANSWER_DISCARD) && w->seq.prompt.ask != ASK_ADD, hold = takes(w, ANSWER_HOLD);
    bool keep = takes(w, ANSWER_KEEP), reason = keep || takes(w, ANSWER_SHORT);
    int room = VIEW_CHOICES - discard - hold - reason;
    v->choice_count = 0;
    if (takes(w, ANSWER_LOT))
        add_lots(w, reason ? room / 2 : room);
    if (reason)
        add_reasons(w, keep ? ANSWER_KEEP : ANSWER_SHORT, room - v->choice_count);
    if (discard)
        add_choice(v, ANSWER_DISCARD, "");
    if (hold)
        add_choice(v, ANSWER_HOLD, "");
    for (unsigned k = 0; w->seq.prompt.ask == ASK_PERSON && k < w->people.count; k++)
        add_choice(v, ANSWER_PERSON, w->people.list[k].initials);
}
