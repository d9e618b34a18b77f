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

static void block(struct canvas *c, const struct area *a, enum style style, uint32_t ch)
{
    for (int r = 0; r < a->rows; r++)
        canvas_fill(c, a->row + r, a->col, a->cols, style, ch);
}

/* A digit's parts, five rows of three: the strokes that light each of them. */
static const uint8_t parts[5][3] = {
    {TOP | UPPER_LEFT, TOP, TOP | UPPER_RIGHT},
    {UPPER_LEFT, 0, UPPER_RIGHT},
    {UPPER_LEFT | MIDDLE | LOWER_LEFT, MIDDLE, UPPER_RIGHT | MIDDLE | LOWER_RIGHT},
    {LOWER_LEFT, 0, LOWER_RIGHT},
    {BOTTOM | LOWER_LEFT, BOTTOM, BOTTOM | LOWER_RIGHT},
};

/* Where a digit of the strokes `before` stands: only the parts that differ. */
static void put_digit(struct canvas *c, int row, int col, const struct digit_size *s, enum style style, unsigned before,
                      unsigned on)
{
    int thick = s->thick_rows, middle = (s->rows - thick) / 2;
    const int rows[] = {thick, middle - thick, thick, s->rows - middle - 2 * thick, thick};
    const int cols[] = {s->thick_cols, s->cols - 2 * s->thick_cols, s->thick_cols};
    struct area a = {row, col, 0, 0};
    for (int i = 0; i < 5; i++, a.row += a.rows) {
        a.rows = rows[i];
        a.col = col;
        for (int k = 0; k < 3; k++, a.col += a.cols) {
            bool lit = on & parts[i][k], was = before & parts[i][k];
            a.cols = cols[k];
            if (lit != was)
                block(c, &a, style, lit ? BLOCK : ' ');
        }
    }
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
            put_digit(c, row, col, size, style, strokes(*before), strokes(*figure));
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
            struct area point = {row + size->rows - size->thick_rows, col, size->thick_rows, size->thick_cols};
            block(c, &point, style, BLOCK);
            col += size->thick_cols + size->gap;
        } else {
            put_digit(c, row, col, size, style, 0, strokes(*figure));
            col += size->cols + size->gap;
        }
    }
}
