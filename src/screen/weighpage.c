/* Weigh page: the net as large as there is room, the bin number beside it, what is still to go, and the band. */
#include "screen/layout.h"

#include <string.h>

#include "screen/bandbar.h"
#include "screen/bigdigits.h"
#include "screen/sentences.h"
#include "screen/text.h"

#define FIGURES_MIN 5 /* room is kept for so many, so that digits don't change their size while pouring */
#define UNIT_COLS 4
#define CUE_COLS 24
#define LIFTED_DIVISIONS 5 /* the net is so far below zero: the container isn't there, or it is another one */
#define STATUS_ROWS 2      /* condition and what the scale shows; what is still to go */

bool weighpage_fits(const struct view *v)
{
    switch (v->prompt.ask) {
    case ASK_CLEAR:
    case ASK_CONTAINER:
    case ASK_FILL:
    case ASK_OVER:
    case ASK_UNDER:
    case ASK_CHECK:
        return true;
    case ASK_CONFIRM:
        return v->prompt.what != WHAT_TUB;
    default:
        return false;
    }
}

static const struct view_scale *wanted(const struct view *v)
{
    for (uint8_t i = 0; i < v->scale_count; i++)
        if (v->scales[i].wanted)
            return &v->scales[i];
    return NULL;
}

static enum mass_unit unit_of(const struct view *v)
{
    return v->unit ? (enum mass_unit)v->unit : UNIT_KG;
}

static void set_unit(struct figure *f, const char *unit)
{
    size_t n = strnlen(unit, FIGURE_UNIT - 1);
    memcpy(f->unit, unit, n);
    f->unit[n] = 0;
}

/* Number and unit of "12.345 kg". */
static void shown_number(struct figure *f, const char *shows)
{
    size_t n = strcspn(shows, " ");
    if (n >= sizeof f->text)
        n = sizeof f->text - 1;
    memcpy(f->text, shows, n);
    f->text[n] = 0;
    set_unit(f, shows[n] ? shows + n + 1 : "");
}

/* What is to be taken off is told by the scale's own figure: a net against the old tare may well lie in the band. */
static bool to_be_empty(const struct view *v)
{
    return v->prompt.ask == ASK_CLEAR || (v->prompt.ask == ASK_CONFIRM && v->prompt.what == WHAT_EMPTY);
}

/* The cup is gone by then: the figure in question is the one that stood there in the end. */
static bool asks_of_lifted(const struct view *v)
{
    return v->prompt.ask == ASK_CONFIRM && v->prompt.what == WHAT_CHANGED;
}

static bool known_net(const struct view *v, mass_pg *net)
{
    if (to_be_empty(v))
        return false;
    bool typed =
        v->prompt.typed && (v->prompt.ask == ASK_UNDER || v->prompt.ask == ASK_OVER || v->prompt.ask == ASK_CONFIRM);
    bool asked = typed || asks_of_lifted(v);
    *net = asked ? v->prompt.net : v->net;
    return asked || v->has_net;
}

static enum style net_style(const struct view *v, mass_pg net)
{
    if (!v->prompt.has_band || net < v->prompt.low)
        return STYLE_STRONG;
    return net > v->prompt.high ? STYLE_ABNORMAL : STYLE_GOOD;
}

static void choose_figure(const struct view *v, const struct keys *k, struct figure *f)
{
    const struct view_scale *scale = wanted(v);
    enum answer_word word = keys_word(k, v);
    mass_pg net;
    *f = (struct figure){.text = "---", .style = STYLE_STRONG};
    set_unit(f, unit_text(unit_of(v)));
    if (word == ANSWER_TYPED || v->prompt.ask == ASK_CHECK) {
        struct text t;
        text_begin(&t, f->text, sizeof f->text);
        text_put(&t, word == ANSWER_TYPED || word == ANSWER_VALUE ? k->typed : "");
        if (v->prompt.ask == ASK_CHECK)
            set_unit(f, v->check_unit);
    } else if (v->prompt.ask == ASK_CONFIRM && v->prompt.what == WHAT_BASIS) {
        mass_format(v->prompt.basis, unit_of(v), v->unit ? v->places : 3, f->text, sizeof f->text);
    } else if (known_net(v, &net)) {
        mass_format(net, unit_of(v), v->places, f->text, sizeof f->text);
        f->style = net_style(v, net);
    } else if (scale && scale->shows[0] && (to_be_empty(v) || v->prompt.ask == ASK_CONTAINER)) {
        shown_number(f, scale->shows);
        f->style = STYLE_PLAIN;
    }
}

static int count_figures(const char *text)
{
    int n = 0;
    for (; *text; text++)
        n += *text != '.';
    return n;
}

/* Enough for the figure itself and for the upper edge of its band. */
static int figures_needed(const struct view *v, const struct figure *f)
{
    char high[MASS_TEXT_MAX] = "";
    int n = count_figures(f->text);
    if (v->prompt.has_band)
        mass_format(v->prompt.high, unit_of(v), v->places, high, sizeof high);
    if (count_figures(high) > n)
        n = count_figures(high);
    return n > FIGURES_MIN ? n : FIGURES_MIN;
}

int bin_put(struct canvas *c, const struct area *a, const struct view *v)
{
    char bin[8];
    struct text t;
    if (!v->bin)
        return 0;
    text_begin(&t, bin, sizeof bin);
    text_number(&t, v->bin);
    struct digit_size size = bigdigits_size((int)t.len, a->rows, a->cols / 3);
    if (!size.rows)
        size = bigdigits_size((int)t.len, 5, a->cols / 3);
    int cols = bigdigits_columns(&size, bin), right = a->col + a->cols - 1;
    canvas_put_right(c, a->row - 1, right - 12, 12, STYLE_STRONG, "bin");
    if (size.rows)
        bigdigits_put(c, a->row, right, &size, STYLE_PLAIN, bin);
    else
        canvas_put_right(c, a->row, right - 12, 12, STYLE_STRONG, bin);
    return cols + 2;
}

/* A field of its own at the right: what the hand that fills must do now (blue) or is about to (yellow). */
static void put_cue(struct canvas *c, int row, const struct area *a, const struct view *v)
{
    const char *words = cue_words(v->cue);
    enum style style = v->cue == CUE_STOP ? STYLE_ACT : STYLE_ABNORMAL;
    if (!words[0]) {
        if (v->seldom && v->prompt.ask == ASK_FILL && v->prompt.has_band)
            canvas_put_right(c, row, a->col + a->cols - CUE_COLS, CUE_COLS, STYLE_QUIET, no_cue_words(v->agreeing));
        return;
    }
    int col = a->col + a->cols - CUE_COLS, room = CUE_COLS - text_columns(words);
    canvas_fill(c, row, col, CUE_COLS, style, ' ');
    canvas_put(c, row, col + room / 2, CUE_COLS - room / 2, style, words);
}

static void put_condition(struct canvas *c, int row, const struct area *a, const struct view *v)
{
    const struct view_scale *scale = wanted(v);
    enum style style;
    char buf[120];
    struct text t;
    if (!scale)
        return;
    const char *condition = condition_text(v, scale, &style);
    canvas_put(c, row, a->col, 12, style, condition);
    put_cue(c, row, a, v);
    if (!scale->shows[0])
        return;
    text_begin(&t, buf, sizeof buf);
    text_put(&t, "display of ");
    text_clean(&t, scale->name);
    text_put(&t, ": ");
    text_clean(&t, scale->shows);
    canvas_put(c, row, a->col + 13, a->cols - 13 - (v->cue || v->seldom ? CUE_COLS + 1 : 0), STYLE_QUIET, buf);
}

/* Beside it stands the target. */
static int to_go_cols(const struct area *a)
{
    return a->cols / 3;
}

/* "12.45 g to go", in words for the way it is weighed. */
static void put_to_go(struct canvas *c, int row, const struct area *a, const struct view *v)
{
    const struct prompt *p = &v->prompt;
    bool bag = p->way == WAY_BAG;
    enum mass_unit unit = unit_of(v);
    char buf[120];
    struct text t;
    mass_pg net;
    if (v->waits) {
        canvas_put(c, row, a->col, to_go_cols(a), STYLE_GOOD, "Enter heard: hands off");
        return;
    }
    if (!p->has_band || asks_of_lifted(v) || !known_net(v, &net))
        return;
    text_begin(&t, buf, sizeof buf);
    if (!bag && net < -LIFTED_DIVISIONS * v->division) { /* more than the target would be asked for */
        text_put(&t, p->way == WAY_TUB ? "the tub is off" : "the cup is off");
    } else if (net < p->low) {
        text_mass(&t, p->target - net, unit, v->places);
        text_put(&t, bag ? " still to take" : " to go");
    } else if (net > p->high) {
        text_put(&t, bag ? "put back " : "take out ");
        const struct band band = {p->target, p->low, p->high};
        text_mass(&t, net - band_inside(&band, v->division), unit, v->places);
    } else {
        text_put(&t, "in its band: stop here");
    }
    canvas_put(c, row, a->col, to_go_cols(a), net_style(v, net), buf);
}

static void put_target(struct canvas *c, int row, const struct area *a, const struct view *v)
{
    const struct prompt *p = &v->prompt;
    char buf[160];
    struct text t;
    if (!p->has_band)
        return;
    text_begin(&t, buf, sizeof buf);
    text_put(&t, "target ");
    text_mass(&t, p->target, unit_of(v), v->places);
    text_put(&t, "   good ");
    text_mass(&t, p->low, unit_of(v), v->places);
    text_put(&t, " to ");
    text_mass(&t, p->high, unit_of(v), v->places);
    canvas_put_right(c, row, a->col + to_go_cols(a), a->cols - to_go_cols(a), STYLE_QUIET, buf);
}

static struct bandbar band_of(const struct view *v)
{
    struct bandbar b = {.low = v->prompt.low,
                        .high = v->prompt.high,
                        .division = v->division > 0 ? v->division : PG_PER_G,
                        .unit = (uint8_t)unit_of(v),
                        .places = v->places};
    b.has_net = known_net(v, &b.net) && (!v->seldom || v->prompt.typed);
    return b;
}

/* Columns of the figure: what the unit and the bin leave. */
static int figure_cols(const struct area *a, const struct view *v)
{
    return a->cols - UNIT_COLS - (v->bin ? a->cols / 4 : 0);
}

static struct digit_size figure_size(const struct area *a, const struct view *v, const struct figure *f)
{
    return bigdigits_size(figures_needed(v, f), a->rows - STATUS_ROWS - BANDBAR_ROWS, figure_cols(a, v));
}

static void put_unit(struct canvas *c, const struct area *a, const struct view *v, const struct figure *f, int rows)
{
    canvas_put(c, a->row + rows - 1, a->col + figure_cols(a, v) + 1, UNIT_COLS - 1, STYLE_STRONG, f->unit);
}

static void put_figure(struct canvas *c, const struct area *a, const struct view *v, const struct figure *f,
                       const struct digit_size *size)
{
    int cols = figure_cols(a, v);
    if (size->rows)
        bigdigits_put(c, a->row, a->col + cols, size, f->style, f->text);
    else
        canvas_put_right(c, a->row, a->col, cols, f->style, f->text);
    put_unit(c, a, v, f, size->rows ? size->rows : 1);
}

/* Most of the time a digit or two change: then the others aren't drawn, nor compared with what is shown. */
static void move_figure(struct canvas *c, struct layout *l, const struct view *v, const struct figure *f,
                        const struct digit_size *size, int rows)
{
    const struct area *a = &l->page;
    int right = a->col + figure_cols(a, v), from = a->col, to = right + UNIT_COLS;
    if (size->rows && f->style == l->figure.style && !strcmp(l->figure.unit, f->unit) &&
        bigdigits_alike(l->figure.text, f->text)) {
        bigdigits_change(c, a->row, right, size, f->style, l->figure.text, f->text, &from, &to);
    } else {
        canvas_blank(c, &(struct area){a->row, a->col, rows, figure_cols(a, v) + UNIT_COLS});
        put_figure(c, a, v, f, size);
    }
    l->digits = (struct area){a->row, from, rows, to - from};
}

/* What stands below the figure and moves with it, and judges it: condition, what is to go, pointer. */
static void put_below(struct canvas *c, const struct area *a, int row, const struct view *v)
{
    if (v->prompt.ask == ASK_CHECK)
        return;
    put_condition(c, row, a, v);
    put_to_go(c, row + 1, a, v);
    struct bandbar b = band_of(v);
    if (v->prompt.has_band)
        bandbar_put_pointer(c, row + STATUS_ROWS, a->col, a->cols, &b);
}

int weighpage_put(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k)
{
    const struct area *a = &l->page;
    struct figure f;
    choose_figure(v, k, &f);
    struct digit_size size = figure_size(a, v, &f);
    int rows = size.rows ? size.rows : 1, row = a->row + rows;
    bin_put(c, &(struct area){a->row, a->col, rows, a->cols}, v);
    if (v->prompt.ask != ASK_CHECK && v->prompt.has_band) {
        struct bandbar b = band_of(v);
        put_target(c, row + 1, a, v);
        bandbar_put(c, row + STATUS_ROWS, a->col, a->cols, &b);
    }
    put_figure(c, a, v, &f, &size);
    put_below(c, a, row, v);
    l->figure = f;
    return rows + STATUS_ROWS + BANDBAR_ROWS;
}

static void move_below(struct canvas *c, struct layout *l, int row, const struct view *v)
{
    const struct area *a = &l->page;
    l->below = (struct area){row, a->col, v->prompt.ask == ASK_CHECK ? 0 : STATUS_ROWS + 1, a->cols};
    if (!l->below.rows)
        return;
    canvas_blank(c, &(struct area){row, a->col, 1, a->cols});
    canvas_blank(c, &(struct area){row + 1, a->col, 1, to_go_cols(a)}); /* beside it stands the target */
    canvas_blank(c, &(struct area){row + STATUS_ROWS, a->col, 1, a->cols});
    put_below(c, a, row, v);
}

bool weighpage_move(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k)
{
    const struct area *a = &l->page;
    struct figure f;
    choose_figure(v, k, &f);
    struct digit_size size = figure_size(a, v, &f);
    int rows = l->page_taken - STATUS_ROWS - BANDBAR_ROWS, row = a->row + rows;
    if ((size.rows ? size.rows : 1) != rows)
        return false; /* another number of figures: everything below them moves */
    move_figure(c, l, v, &f, &size, rows);
    move_below(c, l, row, v);
    l->figure = f;
    return true;
}
