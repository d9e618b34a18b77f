/* Big digits: seven strokes each. Two figures that are alike share most of their cells, so that a changing weight
 * changes few. */
#include "screen/bigdigits.h"

#define BLOCK UINT32_C(0x2588) /* full block */
#define ROWS_MIN 5

/* Strokes: top, upper right, lower right, bottom, lower left, upper left, middle. */
enum { TOP = 1, UPPER_RIGHT = 2, LOWER_RIGHT = 4, BOTTOM = 8, LOWER_LEFT = 16, UPPER_LEFT = 32, MIDDLE = 64 };

static unsigned strokes(char figure)
{
    static const uint8_t digits[] = {
        TOP | UPPER_RIGHT | LOWER_RIGHT | BOTTOM | LOWER_LEFT | UPPER_LEFT,
        UPPER_RIGHT | LOWER_RIGHT,
        TOP | UPPER_RIGHT | MIDDLE | LOWER_LEFT | BOTTOM,
        TOP | UPPER_RIGHT | MIDDLE | LOWER_RIGHT | BOTTOM,
        UPPER_LEFT | UPPER_RIGHT | MIDDLE | LOWER_RIGHT,
        TOP | UPPER_LEFT | MIDDLE | LOWER_RIGHT | BOTTOM,
        TOP | UPPER_LEFT | MIDDLE | LOWER_LEFT | LOWER_RIGHT | BOTTOM,
        TOP | UPPER_RIGHT | LOWER_RIGHT,
        TOP | UPPER_RIGHT | LOWER_RIGHT | BOTTOM | LOWER_LEFT | UPPER_LEFT | MIDDLE,
        TOP | UPPER_RIGHT | LOWER_RIGHT | BOTTOM | UPPER_LEFT | MIDDLE,
    };
    if (figure >= '0' && figure <= '9')
        return digits[figure - '0'];
    return figure == '-' ? MIDDLE : 0;
}

/* A cell is about twice as high as wide: strokes have twice as many columns as rows, and a digit about as many of both, which
 * makes it slim. */
static struct digit_size size_of(int rows)
{
    struct digit_size s = {.rows = rows, .thick_rows = rows >= 11 ? 2 : 1, .thick_cols = rows >= 11 ? 4 : 2};
    s.cols = rows >= 11 ? rows + 1 : rows - 1;
    s.gap = s.thick_cols / 2 + (rows >= 7);
    return s;
}

static int columns(const struct digit_size *s, int figures, int points)
{
    return figures * (s->cols + s->gap) + points * (s->thick_cols + s->gap);
}

/* Odd rows only: the middle stroke has as much above as below. */
struct digit_size bigdigits_size(int figures, int rows, int cols)
{
    for (int r = rows - !(rows & 1); r >= ROWS_MIN; r -= 2) {
        struct digit_size s = size_of(r);
        if (columns(&s, figures, 1) <= cols)
            return s;
    }
    return (struct digit_size){0};
}

int bigdigits_columns(const struct digit_size *size, const char *figure)
{
    int figures = 0, points = 0;
    for (; *figure; figure++)
        *figure == '.' ? points++ : figures++;
    return columns(size, figures, points);
}

static void block(struct canvas *c, int row, int col, int rows, int cols, enum style style)
{
    for (int r = 0; r < rows; r++)
        canvas_fill(c, row + r, col, cols, style, BLOCK);
}

static void put_digit(struct canvas *c, int row, int col, const struct digit_size *s, enum style style, unsigned on)
{
    int middle = (s->rows - s->thick_rows) / 2, right = col + s->cols - s->thick_cols;
    if (on & TOP)
        block(c, row, col, s->thick_rows, s->cols, style);
    if (on & MIDDLE)
        block(c, row + middle, col, s->thick_rows, s->cols, style);
    if (on & BOTTOM)
        block(c, row + s->rows - s->thick_rows, col, s->thick_rows, s->cols, style);
    if (on & UPPER_LEFT)
        block(c, row, col, middle + s->thick_rows, s->thick_cols, style);
    if (on & UPPER_RIGHT)
        block(c, row, right, middle + s->thick_rows, s->thick_cols, style);
    if (on & LOWER_LEFT)
        block(c, row + middle, col, s->rows - middle, s->thick_cols, style);
    if (on & LOWER_RIGHT)
        block(c, row + middle, right, s->rows - middle, s->thick_cols, style);
}

bool bigdigits_alike(const char *before, const char *now)
{
    for (; *before && *now; before++, now++)
        if ((*before == '.') != (*now == '.'))
            return false;
    return *before == *now;
}

void bigdigits_change(struct canvas *c, int row, int right, const struct digit_size *size, enum style style,
                      const char *before, const char *figure, int *from, int *to)
{
    int col = right - bigdigits_columns(size, figure) + size->gap;
    *from = *to = right;
    for (; *figure; figure++, before++) {
        int cols = *figure == '.' ? size->thick_cols : size->cols;
        if (*figure != *before) {
            for (int r = 0; r < size->rows; r++)
                canvas_fill(c, row + r, col, cols, style, ' ');
            put_digit(c, row, col, size, style, strokes(*figure));
            *from = *from < right ? *from : col;
            *to = col + cols;
        }
        col += cols + size->gap;
    }
}

void bigdigits_put(struct canvas *c, int row, int right, const struct digit_size *size, enum style style,
                   const char *figure)
{
    int col = right - bigdigits_columns(size, figure) + size->gap;
    for (int r = 0; r < size->rows; r++) /* blanks of the same style: no switching to and fro inside a figure */
        canvas_fill(c, row + r, col, right - col, style, ' ');
    for (; *figure; figure++) {
        if (*figure == '.') {
            block(c, row + size->rows - size->thick_rows, col, size->thick_rows, size->thick_cols, style);
            col += size->thick_cols + size->gap;
        } else {
            put_digit(c, row, col, size, style, strokes(*figure));
            col += size->cols + size->gap;
        }
    }
}
