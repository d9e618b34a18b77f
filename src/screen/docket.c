/* Docket: what went in, newest last; and how the scales are. */
#include "screen/layout.h"

#include <stdio.h>

#include "screen/text.h"

#define NET_COLS 11
#define VERDICT_COLS 8
#define STATUS_COLS 9
#define LOT_COLS 13
#define DIFFERENCE_COLS 13
#define DOCKET_COLS 110 /* a longer line is hard to follow */

static const char *verdict_mark(const struct view_line *l, enum style *style)
{
    *style = STYLE_ABNORMAL;
    if (l->manner == MANNER_TYPED && l->verdict == VERDICT_IN)
        return "# typed";
    switch (l->verdict) {
    case VERDICT_OVER:
        return "▲ over";
    case VERDICT_UNDER:
        return "▼ under";
    default:
        *style = STYLE_GOOD;
        return l->has_target ? "■ in" : "■";
    }
}

static const char *status_word(uint8_t status)
{
    switch (status) {
    case ITEM_WEIGHED:
        return "accepted"; /* whether it still stands there is the scale's to show */
    case ITEM_STAGED:
        return "set aside";
    case ITEM_IN_MIXER:
        return "in mixer";
    case ITEM_DISCARDED:
        return "thrown";
    default:
        return "";
    }
}

/* How far it is off its target, where there is room: "+0.35 g". */
static void put_difference(struct canvas *c, int row, int col, const struct view_line *l)
{
    char text[MASS_TEXT_MAX];
    if (l->has_target) {
        text_difference(l->net - l->target, (enum mass_unit)l->unit, l->places, text);
        canvas_put_right(c, row, col, DIFFERENCE_COLS - 2, STYLE_QUIET, text);
    }
}

static void put_line(struct canvas *c, int row, const struct area *a, const struct view_line *l)
{
    char id[8], net[MASS_TEXT_MAX] = "";
    enum style style;
    const char *mark = verdict_mark(l, &style);
    int fixed = 4 + NET_COLS + VERDICT_COLS + STATUS_COLS, cols = a->cols < DOCKET_COLS ? a->cols : DOCKET_COLS;
    /* A narrow docket gives up the difference first, then the lot: what was weighed and its verdict always stand. */
    bool lot = cols >= fixed + LOT_COLS + 16, difference = cols >= fixed + LOT_COLS + DIFFERENCE_COLS + 26;
    int name = cols - fixed - (lot ? LOT_COLS : 0) - (difference ? DIFFERENCE_COLS : 0), col = a->col + 4 + name;
    snprintf(id, sizeof id, "%3u", l->item);
    canvas_put(c, row, a->col, 3, STYLE_QUIET, id);
    canvas_put(c, row, a->col + 4, name - 1, STYLE_PLAIN, l->name);
    mass_format_unit(l->net, (enum mass_unit)l->unit, l->places, net, sizeof net);
    canvas_put_right(c, row, col, NET_COLS - 1, STYLE_PLAIN, net);
    col += NET_COLS;
    if (difference)
        put_difference(c, row, col, l);
    col += difference ? DIFFERENCE_COLS : 0;
    canvas_put(c, row, col, VERDICT_COLS - 1, style, mark);
    col += VERDICT_COLS;
    if (lot)
        canvas_put(c, row, col, LOT_COLS - 1, STYLE_QUIET, l->lot);
    canvas_put(c, row, col + (lot ? LOT_COLS : 0), STATUS_COLS, STYLE_QUIET, status_word(l->status));
}

void docket_put(struct canvas *c, const struct area *a, const struct view *v)
{
    int first = v->line_count > a->rows ? v->line_count - a->rows : 0;
    for (int i = first; i < v->line_count; i++)
        put_line(c, a->row + i - first, a, &v->lines[i]);
    if (!v->line_count && a->rows > 0)
        canvas_put(c, a->row, a->col + 1, a->cols - 1, STYLE_QUIET, "nothing yet");
}

static void put_add(struct canvas *c, int row, int col, int cols, const struct view_line *l)
{
    char id[8], net[MASS_TEXT_MAX] = "";
    snprintf(id, sizeof id, "%3u", l->item);
    canvas_put(c, row, col, 3, STYLE_QUIET, id); /* by which it is told as spilt */
    mass_format_unit(l->net, (enum mass_unit)l->unit, l->places, net, sizeof net);
    canvas_put_right(c, row, col + 3, NET_COLS, STYLE_STRONG, net);
    canvas_put(c, row, col + 3 + NET_COLS + 2, cols - NET_COLS - 6, STYLE_STRONG, l->name);
}

/* One a row, for what is missed here is missing in the sausage; in two columns where there are more than rows. */
int adds_put(struct canvas *c, const struct area *a, const struct view *v)
{
    int columns = v->add_count > a->rows ? 2 : 1, cols = a->cols / columns;
    int rows = (v->add_count + columns - 1) / columns, fit = rows <= a->rows && !v->adds_left ? rows : a->rows - 1;
    int left = v->add_count - fit * columns + v->adds_left;
    for (int i = 0; i < v->add_count && i < fit * columns; i++)
        put_add(c, a->row + i % fit, a->col + i / fit * cols, cols, &v->adds[i]);
    if (left <= 0)
        return fit;
    char more[60];
    snprintf(more, sizeof more, "and %d more: make the window larger", left);
    canvas_put(c, a->row + fit, a->col, a->cols, STYLE_ABNORMAL, more);
    return fit + 1;
}

const char *condition_text(const struct view *v, const struct view_scale *s, enum style *style)
{
    *style = STYLE_ABNORMAL;
    switch (s->link) {
    case LINK_WAITING:
        *style = STYLE_QUIET;
        return "○ waiting";
    case LINK_SILENT:
        return "! silent";
    case LINK_NOISE:
        return "! garbled";
    case LINK_UNPLUGGED:
        return "! unplugged";
    case LINK_TAKEN:
        return "! in use";
    case LINK_UNUSABLE:
        return "! unusable";
    default:
        break;
    }
    if (s->reading == READING_OVER)
        return "! overload";
    if (s->reading == READING_UNDER)
        return "! underload";
    if (s->reading == READING_UNIT)
        return "! unit?";
    if (s->reading == READING_FAULT || s->settled == SETTLE_NOWEIGHT)
        return "! no weight";
    if (s->settled == SETTLE_SILENT)
        return "! silent";
    if (s->settled == SETTLE_DISPUTED)
        return "! disputed";
    *style = s->settled == SETTLE_SETTLED ? STYLE_GOOD : STYLE_PLAIN;
    if (s->settled == SETTLE_SETTLED)
        return "● settled";
    return s->wanted && (v->rests || v->waits) ? "○ resting" : "○ moving";
}

/* The figure of the scale that the step is on stands beside the net already, not here again. */
void scales_put(struct canvas *c, const struct area *a, const struct view *v)
{
    for (int i = 0; i < v->scale_count && i < a->rows; i++) {
        const struct view_scale *s = &v->scales[i];
        enum style style;
        const char *condition = condition_text(v, s, &style);
        int row = a->row + i, name = a->cols - 23;
        canvas_put(c, row, a->col, 1, STYLE_STRONG, s->wanted ? "►" : " ");
        canvas_put(c, row, a->col + 1, name - 1, s->wanted ? STYLE_STRONG : STYLE_PLAIN, s->name);
        canvas_put(c, row, a->col + 1 + name, 11, style, condition);
        if (s->doubt && s->link == LINK_UP)
            canvas_put_right(c, row, a->col + name + 12, 11, STYLE_ABNORMAL, "prove zero");
        else if (!s->wanted || !weighpage_fits(v))
            canvas_put_right(c, row, a->col + name + 12, 11, STYLE_QUIET, s->shows);
    }
}
