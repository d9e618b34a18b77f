/* Key help: which keys do what now, in words, always on the screen. */
#include "screen/keys.h"

#include "screen/text.h"

static void put_key(struct text *t, const char *key, const char *does)
{
    if (t->len)
        text_put(t, "   ");
    text_put(t, key);
    text_put(t, " ");
    text_put(t, does);
}

static const char *yes_does(const struct prompt *p)
{
    switch (p->ask) {
    case ASK_MORE:
        return "another lug";
    case ASK_ADD:
        return "it is in";
    case ASK_INSTRUCTION:
        return "done";
    case ASK_RESUME:
        return "go on";
    case ASK_CONTAINER:
        return "it is empty";
    case ASK_FILL:
        return "accept";
    case ASK_CONFIRM:
        return p->what == WHAT_WEIGHT ? "accept" : p->what == WHAT_EMPTY ? "it is empty" : "yes";
    default:
        return "yes";
    }
}

static const char *write_does(const struct view *v, enum answer_word word)
{
    if (v->prompt.ask == ASK_PERSON)
        return "type a code";
    switch (word) {
    case ANSWER_LOT:
        return "another lot";
    case ANSWER_TYPED:
        return "type the weight";
    case ANSWER_DISCARD:
        return "spilt one";
    default:
        return "another reason";
    }
}

static void put_type(struct text *t, const struct keys *k, const struct view *v)
{
    put_key(t, "Enter", "take it");
    if (k->writing != ANSWER_COUNT)
        put_key(t, "/", "back");
    else if (keys_lists(v))
        put_key(t, "/", "other answers");
    put_key(t, "+", "pause");
}

static void put_menu(struct text *t, const struct keys *k, const struct view *v)
{
    if (k->sure != ANSWER_COUNT) {
        put_key(t, "9", k->sure == ANSWER_STOP ? "yes, stop the batch for good" : "yes, abort the batch for good");
        put_key(t, "1", "no, back");
        return;
    }
    if (v->prompt.ask != ASK_RESUME)
        put_key(t, "1", "go on");
    else if (v->prompt.answers & UINT32_C(1) << ANSWER_YES)
        put_key(t, "Enter", "go on");
    put_key(t, "2", "stop the batch");
    put_key(t, "3", "abort the batch");
    if (keys_people(v))
        put_key(t, "4", "another person");
}

static void put_pick(struct text *t, const struct keys *k, const struct view *v)
{
    const uint32_t answers = v->prompt.answers;
    char digits[] = "1-9";
    digits[2] = (char)('0' + v->choice_count);
    if (v->rests || (!v->waits && answers & UINT32_C(1) << ANSWER_YES))
        put_key(t, "Enter", yes_does(&v->prompt));
    if (keys_picks(k, v))
        put_key(t, v->choice_count == 1 ? "1" : digits, "pick");
    if (answers & UINT32_C(1) << ANSWER_DONE)
        put_key(t, "0", "no more comes");
    if (answers & UINT32_C(1) << ANSWER_NO)
        put_key(t, "0", v->prompt.ask == ASK_MORE ? "that's all" : "no, one more lug");
    if (k->listing)
        put_key(t, "/", "back");
    else if (keys_writes(v) != ANSWER_COUNT)
        put_key(t, "/", write_does(v, keys_writes(v)));
    else if (keys_lists(v))
        put_key(t, "/", "other answers");
    put_key(t, "+", "pause");
}

size_t keys_help(const struct keys *k, const struct view *v, char *buf, size_t cap)
{
    struct text t;
    text_begin(&t, buf, cap);
    switch (keys_mode(k, v)) {
    case KEYS_TYPE:
        put_type(&t, k, v);
        break;
    case KEYS_MENU:
        put_menu(&t, k, v);
        break;
    case KEYS_PICK:
        put_pick(&t, k, v);
        break;
    }
    if (k->hint == HINT_EARLY)
        text_put(&t, "   (that was too early: press again)");
    else if (k->hint == HINT_SCAN)
        text_put(&t, "   (a scan is not asked for now)");
    else if (k->hint == HINT_TYPE)
        text_put(&t, "   (type it first)");
    return t.len;
}
