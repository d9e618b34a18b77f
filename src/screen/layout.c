/* Layout: who gets which rows. From the top: head, title, the page; from the bottom: keys, what is typed, the next thing
 * to do, notices; the docket and the scales have what is left between. */
#include "screen/layout.h"

#include <string.h>

#include "screen/sentences.h"

#define MARGIN 1
#define HEAD_ROWS 2  /* head bar, title */
#define PAGE_ROWS 14 /* on the smallest terminal: 9 rows of digits, condition, to go, 3 of the band */
#define PAGE_MIN 10  /* where the choices need the room: 5 rows of digits */
#define ACT_ROWS 2
#define NOTICE_ROWS 3 /* a driver says at length what to do */

static void put_head(struct canvas *c, const struct view *v)
{
    char buf[200];
    struct text t;
    canvas_fill(c, 0, 0, c->cols, STYLE_HEAD, ' ');
    text_begin(&t, buf, sizeof buf);
    if (v->step) { /* none yet while somebody signs in */
        text_put(&t, "step ");
        text_number(&t, v->step);
        text_put(&t, " of ");
        text_number(&t, v->steps);
    }
    text_put(&t, "   ");
    text_clean(&t, v->person);
    text_put(&t, "   ");
    text_put(&t, batch_state_text((enum batch_state)v->state));
    text_put(&t, "   ");
    text_clean(&t, v->clock);
    int right = text_columns(buf);
    canvas_put_right(c, 0, c->cols - MARGIN - right, right, STYLE_HEAD, buf);
    int room = c->cols - right - 4 * MARGIN, batch = v->batch[0] ? text_columns(v->batch) + 3 : 0;
    int left = canvas_put(c, 0, MARGIN, room - batch, STYLE_HEAD, v->formula);
    if (batch)
        canvas_put(c, 0, MARGIN + left + 3, batch, STYLE_HEAD, v->batch);
}

/* What the step is about, where it is no ingredient. */
static const char *bare_title(const struct prompt *p)
{
    switch (p->ask) {
    case ASK_PERSON:
        return "Sign in";
    case ASK_CLEAR:
        return "Empty the scale";
    case ASK_ADD:
        return "Put into the mixer";
    case ASK_CHECK:
        return "Measure";
    case ASK_INSTRUCTION:
        return "Do";
    case ASK_RESUME:
        return "Go on?";
    case ASK_CONFIRM:
        return p->what == WHAT_BASIS   ? "Meat block"
               : p->what == WHAT_TUB   ? "Common tub"
               : p->what == WHAT_EMPTY ? "Empty platform"
                                       : "";
    default:
        return "";
    }
}

static void put_title(struct canvas *c, const struct view *v)
{
    int n = canvas_put(c, 1, MARGIN, c->cols - 20, STYLE_STRONG, v->title[0] ? v->title : bare_title(&v->prompt));
    if (!v->lot[0])
        return;
    n += canvas_put(c, 1, MARGIN + n, 7, STYLE_PLAIN, "   lot ");
    canvas_put(c, 1, MARGIN + n, c->cols - n - 10, STYLE_PLAIN, v->lot);
}

static bool page_says_it(const struct view *v)
{
    return v->prompt.ask == ASK_ADD ? v->add_count > 0 : v->text[0] != 0;
}

/* The rows from `bottom` upwards that the next thing to do takes; returns its first row. */
static int put_act(struct canvas *c, int bottom, const struct view *v, const struct keys *k)
{
    const char *sentence = v->sentence;
    if (k->writing == ANSWER_PERSON) /* from the pause's menu: the prompt's own question would be answered by a code */
        sentence = person_sentence();
    else if (keys_mode(k, v) == KEYS_MENU)
        sentence = k->sure != ANSWER_COUNT       ? sure_sentence(k->sure)
                   : v->prompt.ask == ASK_RESUME ? v->sentence
                                                 : paused_sentence();
    else if (page_says_it(v) && below_text_sentence(v->prompt.ask)[0])
        sentence = below_text_sentence(v->prompt.ask);
    struct area a = {0, MARGIN + 2, ACT_ROWS, c->cols - 2 * MARGIN - 2};
    int rows = canvas_wrap(NULL, &a, STYLE_ACT, sentence);
    if (!rows)
        return bottom;
    a.row = bottom - rows;
    for (int r = 0; r < rows; r++)
        canvas_fill(c, a.row + r, 0, c->cols, STYLE_ACT, ' ');
    canvas_put(c, a.row, MARGIN, 1, STYLE_ACT, "►");
    canvas_wrap(c, &a, STYLE_ACT, sentence);
    return a.row;
}

static int put_notice(struct canvas *c, int bottom, const struct view *v)
{
    static const struct {
        enum style style;
        const char *word;
    } weights[] = {
        {STYLE_QUIET, "Note:"}, {STYLE_QUIET, "Note:"}, {STYLE_ABNORMAL, "! Attention:"}, {STYLE_DANGER, "!! Danger:"}};
    unsigned weight = v->notice_weight < 4 ? v->notice_weight : 3;
    int word = text_columns(weights[weight].word) + 1;
    struct area a = {0, MARGIN + word, NOTICE_ROWS, c->cols - 2 * MARGIN - word};
    int rows = canvas_wrap(NULL, &a, STYLE_PLAIN, v->notice);
    if (!rows)
        return bottom;
    a.row = bottom - rows;
    canvas_put(c, a.row, MARGIN, word, weights[weight].style, weights[weight].word);
    canvas_wrap(c, &a, weights[weight].style, v->notice);
    return a.row;
}

static const char *typed_label(enum answer_word word)
{
    switch (word) {
    case ANSWER_LOT:
        return "lot:";
    case ANSWER_KEEP:
    case ANSWER_SHORT:
        return "reason:";
    case ANSWER_VALUE:
        return "value:";
    case ANSWER_TYPED:
        return "weight:";
    case ANSWER_DISCARD:
        return "item:";
    default:
        return "code:";
    }
}

/* What is being typed, with the cursor behind it; no row where nothing can be typed. */
static int put_typed(struct canvas *c, int bottom, const struct view *v, const struct keys *k)
{
    enum answer_word word = keys_word(k, v);
    if (word == ANSWER_COUNT || (keys_mode(k, v) != KEYS_TYPE && !k->typed_len))
        return bottom;
    int row = bottom - 1, col = MARGIN + 2;
    col += canvas_put(c, row, col, 10, STYLE_STRONG, typed_label(word)) + 1;
    const char *text = k->typed;
    while (text_columns(text) > c->cols - col - 2) /* the end is what the person looks at */
        utf8_next(&text);
    col += canvas_put(c, row, col, c->cols - col - 1, STYLE_STRONG, text);
    c->cursor_row = row;
    c->cursor_col = col;
    return row;
}

static void put_keys(struct canvas *c, int row, const struct view *v, const struct keys *k)
{
    char help[200];
    keys_help(k, v, help, sizeof help);
    canvas_put(c, row, MARGIN, c->cols - 2 * MARGIN, STYLE_STRONG, help);
}

static void put_rule(struct canvas *c, int row, int split, const char *left)
{
    canvas_fill(c, row, 0, c->cols, STYLE_QUIET, 0x2500);
    canvas_put(c, row, 3, 20, STYLE_QUIET, left);
    canvas_put(c, row, split + 2, 20, STYLE_QUIET, " scales ");
}

/* Over a weight the choices take the docket's place; the question of another page has them itself. */
static bool choices_below(const struct view *v, const struct keys *k)
{
    return weighpage_fits(v) && keys_picks(k, v);
}

static void put_below(struct canvas *c, struct layout *l, int from, int to, const struct view *v, const struct keys *k)
{
    int split = c->cols - (c->cols >= 120 ? 44 : 32);
    struct area left = {from + 1, MARGIN, to - from - 1, split - 2 * MARGIN};
    l->scales = (struct area){from + 1, split + MARGIN, to - from - 1, c->cols - split - 2 * MARGIN};
    bool choose = choices_below(v, k);
    put_rule(c, from, split, choose ? " pick " : " went in ");
    if (choose)
        choices_put(c, &left, v);
    else
        docket_put(c, &left, v);
    scales_put(c, &l->scales, v);
}

/* The question itself: what to read, and what the digits pick. */
static void put_question(struct canvas *c, const struct area *a, const struct view *v, const struct keys *k)
{
    struct area left = *a;
    left.cols -= bin_put(c, &(struct area){a->row, a->col, 7, a->cols}, v);
    left.row++;
    left.rows--;
    if (keys_picks(k, v))
        left.rows -= v->choice_count < 5 ? v->choice_count : 5;
    int rows = 0;
    if (v->prompt.ask == ASK_ADD && v->add_count) {
        struct area list = {left.row, left.col, left.rows - (v->text[0] ? 1 + ACT_ROWS : 0), left.cols};
        rows = 1 + adds_put(c, &list, v);
    }
    rows +=
        canvas_wrap(c, &(struct area){left.row + rows, left.col, left.rows - rows, left.cols}, STYLE_STRONG, v->text);
    rows += rows > 0;
    left.row += rows;
    left.rows = a->rows - rows - 1;
    if (keys_picks(k, v))
        choices_put(c, &left, v);
}

/* The page keeps its size while notices come and go below it: only choices that need the rows may shrink it. */
static int page_rows(const struct canvas *c, int bottom, const struct view *v, const struct keys *k)
{
    int rows = PAGE_ROWS + (c->rows - SCREEN_ROWS) * 6 / 10;
    int wanted = choices_below(v, k) ? v->choice_count : 0;
    while (rows > PAGE_MIN && bottom - HEAD_ROWS - rows - 1 < wanted)
        rows--;
    return rows;
}

static void put_page(struct canvas *c, struct layout *l, int bottom, const struct view *v, const struct keys *k)
{
    l->page = (struct area){HEAD_ROWS, MARGIN, page_rows(c, bottom, v, k), c->cols - 2 * MARGIN};
    l->page_taken = l->page.rows;
    l->weigh = weighpage_fits(v);
    if (l->weigh)
        l->page_taken = weighpage_put(c, l, v, k);
    else
        put_question(c, &l->page, v, k);
    put_below(c, l, HEAD_ROWS + l->page_taken, bottom, v, k);
}

static void put_too_small(struct canvas *c)
{
    char buf[120];
    struct text t;
    struct area a = {0, 0, c->rows, c->cols};
    text_begin(&t, buf, sizeof buf);
    text_put(&t, "Make the window larger: ");
    text_number(&t, SCREEN_COLS);
    text_put(&t, "x");
    text_number(&t, SCREEN_ROWS);
    text_put(&t, " is needed, it is ");
    text_number(&t, c->cols);
    text_put(&t, "x");
    text_number(&t, c->rows);
    text_put(&t, ". No key counts until then.");
    canvas_wrap(c, &a, STYLE_ABNORMAL, buf);
}

void layout_draw(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k, int rows, int cols)
{
    canvas_clear(c, rows, cols);
    l->whole = rows < SCREEN_ROWS || cols < SCREEN_COLS;
    if (l->whole) {
        put_too_small(c);
        return;
    }
    put_head(c, v);
    put_title(c, v);
    int bottom = c->rows - 1;
    put_keys(c, bottom, v, k);
    bottom = put_typed(c, bottom, v, k);
    bottom = put_act(c, bottom, v, k);
    bottom = put_notice(c, bottom, v);
    put_page(c, l, bottom, v, k);
}

bool layout_move(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k)
{
    return !l->whole && (!l->weigh || weighpage_move(c, l, v, k));
}

void layout_move_scales(struct canvas *c, const struct layout *l, const struct view *v)
{
    canvas_blank(c, &l->scales);
    scales_put(c, &l->scales, v);
}

static uint64_t mix(uint64_t h, const void *bytes, size_t n)
{
    const unsigned char *p = bytes;
    for (; n >= 8; p += 8, n -= 8) {
        uint64_t word;
        memcpy(&word, p, 8);
        h = (h ^ word) * UINT64_C(0x9E3779B97F4A7C15); /* 2^64 over the golden ratio: every bit of the word spreads */
        h ^= h >> 29;
    }
    while (n--)
        h = (h ^ *p++) * UINT64_C(0x100000001B3); /* the 64-bit FNV prime */
    return h;
}

/* What moves is left out: the time, the net, and what the scales show; so is what changes only with the prompt (view.h).
 * The links are not: the keys go by them. */
uint64_t layout_still(const struct view *v, const struct keys *k)
{
    const uint32_t parts[] = {v->prompt_n, v->prompt.id,     v->step,        v->state,   v->unit,
                              v->places,   v->notice_weight, v->line_count,  k->writing, k->sure,
                              k->hint,     k->listing,       v->choice_count};
    const bool yes[] = {v->rests, v->waits};
    uint64_t h = mix(mix(1, parts, sizeof parts), &v->division, sizeof v->division);
    h = mix(h, yes, sizeof yes);
    h = mix(h, v->clock, sizeof v->clock);
    h = mix(h, v->notice, strlen(v->notice));
    for (uint8_t i = 0; i < v->scale_count; i++)
        h = mix(h, &v->scales[i].link, 1);
    return mix(h, k->typed, k->typed_len);
}
