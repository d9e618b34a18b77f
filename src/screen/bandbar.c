/* Band bar.
 *
 * Three stretches, each with a scale of its own: coarse from zero to where it gets near, fine through the band and one
 * band's width (at least four divisions) to either side, coarse again up to twice that above. The masses at the breaks
 * stand below, so that the bar states its own scale. One bar for all nets: it never jumps while pouring. */
#include "screen/bandbar.h"

#include "core/muldiv.h"

#define FULL UINT32_C(0x2588)        /* block: the band */
#define LINE UINT32_C(0x2500)        /* line: outside of it */
#define COARSE_LINE UINT32_C(0x2504) /* dashed: coarse */
#define BREAK UINT32_C(0x253C)       /* cross: the scale changes */
#define DOWN UINT32_C(0x25BC)        /* triangle: the pointer */
#define RIGHT UINT32_C(0x25BA)
#define LEFT UINT32_C(0x25C4)

struct stretches {
    mass_pg at[4]; /* zero, near begins, near ends, end of the bar */
    int col[4];    /* their columns; col[3] is the last one */
};

static struct stretches stretch(const struct bandbar *b, int cols)
{
    mass_pg side = b->high - b->low > 4 * b->division ? b->high - b->low : 4 * b->division;
    mass_pg from = b->low > side ? b->low - side : 0;
    struct stretches s = {.at = {0, from, b->high + side, b->high + 3 * side}};
    int near = cols * 11 / 20, after = cols / 8; /* of the columns: fine, coarse above; coarse below has the rest */
    s.col[3] = cols - 1;
    s.col[2] = s.col[3] - after;
    s.col[1] = from ? s.col[2] - near : 0;
    return s;
}

int bandbar_column(const struct bandbar *b, int cols, mass_pg mass)
{
    struct stretches s = stretch(b, cols);
    if (mass <= 0)
        return 0;
    for (int i = 0; i < 3; i++) {
        if (mass > s.at[i + 1] || s.at[i + 1] == s.at[i])
            continue;
        mass_pg part = 0;
        uint64_t cells = (uint64_t)(s.col[i + 1] - s.col[i]), span = (uint64_t)(s.at[i + 1] - s.at[i]);
        if (muldiv(mass - s.at[i], cells, span, ROUND_HALF_EVEN, &part) != FAIL_NONE)
            return 0;
        return s.col[i] + (int)part;
    }
    return s.col[3];
}

static void put_bar(struct canvas *c, int row, int col, int cols, const struct bandbar *b, const struct stretches *s)
{
    int low = bandbar_column(b, cols, b->low), high = bandbar_column(b, cols, b->high);
    canvas_fill(c, row, col, cols, STYLE_QUIET, COARSE_LINE);
    canvas_fill(c, row, col + s->col[1], s->col[2] - s->col[1], STYLE_PLAIN, LINE);
    canvas_fill(c, row, col + low, high - low + 1, STYLE_GOOD, FULL);
    if (s->col[1])
        canvas_fill(c, row, col + s->col[1], 1, STYLE_PLAIN, BREAK);
    canvas_fill(c, row, col + s->col[2], 1, STYLE_PLAIN, BREAK);
    if (s->col[1] > 9)
        canvas_put(c, row, col + s->col[1] / 2 - 3, 8, STYLE_QUIET, " coarse ");
    if (s->col[2] - high > 8)
        canvas_put(c, row, col + s->col[2] - 6, 6, STYLE_PLAIN, " fine ");
}

/* A mass centred below its column, kept inside the bar; nothing if it would touch what stands there. */
static int put_mass(struct canvas *c, int row, int col, int cols, const struct bandbar *b, mass_pg mass, int free_from)
{
    char text[MASS_TEXT_MAX];
    int n = (int)mass_format(mass, (enum mass_unit)b->unit, b->places, text, sizeof text);
    int at = bandbar_column(b, cols, mass) - n / 2;
    if (at + n > cols)
        at = cols - n;
    if (at < free_from)
        at = free_from;
    if (at + n > cols)
        return free_from;
    canvas_put(c, row, col + at, n, STYLE_QUIET, text);
    return at + n + 1;
}

/* A net just outside never points at the band, however fine the difference. */
int bandbar_pointer(const struct bandbar *b, int cols)
{
    int at = bandbar_column(b, cols, b->net);
    int low = bandbar_column(b, cols, b->low), high = bandbar_column(b, cols, b->high);
    if (b->net < b->low && at >= low && low > 0)
        return low - 1;
    if (b->net > b->high && at <= high && high < cols - 1)
        return high + 1;
    return at;
}

void bandbar_put_pointer(struct canvas *c, int row, int col, int cols, const struct bandbar *b)
{
    bool in = b->net >= b->low && b->net <= b->high, above = b->net > stretch(b, cols).at[3];
    enum style style = in ? STYLE_GOOD : b->net > b->high ? STYLE_ABNORMAL : STYLE_STRONG;
    if (b->has_net)
        canvas_fill(c, row, col + bandbar_pointer(b, cols), 1, style, above ? RIGHT : b->net < 0 ? LEFT : DOWN);
}

void bandbar_put(struct canvas *c, int row, int col, int cols, const struct bandbar *b)
{
    struct stretches s = stretch(b, cols);
    put_bar(c, row + 1, col, cols, b, &s);
    int free_from = 0;
    if (s.col[1])
        free_from = put_mass(c, row + 2, col, cols, b, 0, free_from);
    free_from = put_mass(c, row + 2, col, cols, b, s.at[1], free_from);
    free_from = put_mass(c, row + 2, col, cols, b, b->low, free_from);
    if (b->high > b->low)
        free_from = put_mass(c, row + 2, col, cols, b, b->high, free_from);
    free_from = put_mass(c, row + 2, col, cols, b, s.at[2], free_from);
    put_mass(c, row + 2, col, cols, b, s.at[3], free_from);
}
