/* Choices: what the digits pick, in words. */
#include "screen/layout.h"

#include "screen/names.h"
#include "screen/text.h"

static const char *discard_label(const struct prompt *p)
{
    if (asks_item(p))
        return "a lug was wrong: type its number";
    return p->ask == ASK_MORE ? "this lug was wrong: weigh it again" : "throw it away and weigh again";
}

static const char *bare_label(const struct view *v, enum answer_word word)
{
    switch (word) {
    case ANSWER_YES:
        return v->prompt.ask == ASK_MORE ? "another lug" : "yes";
    case ANSWER_NO:
        return v->prompt.ask == ASK_MORE ? "that's all" : "no, one more lug";
    case ANSWER_DONE:
        return "no more comes";
    case ANSWER_LOT:
        return "another lot: type or scan it";
    case ANSWER_KEEP:
        return "keep it as it is: type the reason";
    case ANSWER_SHORT:
        return "leave it short: type the reason";
    case ANSWER_DISCARD:
        return discard_label(&v->prompt);
    case ANSWER_HOLD:
        return keys_people(v) ? "hold the batch until somebody decides" : "hold it: here it can then only be ended";
    default:
        return answer_text(word);
    }
}

static const char *before_value(enum answer_word word)
{
    switch (word) {
    case ANSWER_LOT:
        return "lot ";
    case ANSWER_KEEP:
        return "keep it: ";
    case ANSWER_SHORT:
        return "leave it short: ";
    case ANSWER_DISCARD:
        return "thrown away or spilt: item ";
    default:
        return "";
    }
}

static void label(const struct view *v, const struct view_choice *choice, struct text *t)
{
    enum answer_word word = (enum answer_word)choice->word;
    text_put(t, choice->text[0] ? before_value(word) : bare_label(v, word));
    text_clean(t, choice->text);
}

/* In two columns where one has not rows enough; down the first, then down the second, as the digits go. */
void choices_put(struct canvas *c, const struct area *a, const struct view *v)
{
    int across = a->rows > 0 && v->choice_count > a->rows ? 2 : 1, width = a->cols / across;
    for (int i = 0; i < v->choice_count && i < a->rows * across; i++) {
        char buf[200];
        struct text t;
        int row = a->row + i % a->rows, col = a->col + i / a->rows * width;
        text_begin(&t, buf, sizeof buf);
        text_number(&t, i + 1);
        canvas_put(c, row, col + 1, 1, STYLE_ACT, buf);
        text_begin(&t, buf, sizeof buf);
        label(v, &v->choices[i], &t);
        canvas_put(c, row, col + 4, width - 5, STYLE_PLAIN, buf);
    }
}
