/* Full screen. */
#include "screen/full.h"

#include <string.h>

#include "screen/layout.h"
#include "screen/term.h"

#define BRIDGE 4 /* so many unchanged cells between two changed ones are written again rather than jumped over */
#define ERASE 6  /* so many blanks are rather erased than written */
#define NEAR 5   /* so many columns to the left are reached cheaply (term_move) */

static struct {
    int rows, cols; /* of the terminal */
    struct layout layout;
    uint64_t still; /* of the view that was laid out whole */
    struct canvas now, shown;
} full;

bool full_open(int in, int out, char *why, size_t cap)
{
    full.shown.rows = 0;
    return term_open(in, out, why, cap);
}

void full_close(void)
{
    term_close();
}

static bool same(int row, int col)
{
    const struct cell *a = &full.now.cells[row][col], *b = &full.shown.cells[row][col];
    return a->ch == b->ch && a->style == b->style;
}

static bool is_wide(int row, int col)
{
    return col + 1 < full.now.cols && !full.now.cells[row][col + 1].ch;
}

static bool changed(int row, int col)
{
    return !same(row, col) || (is_wide(row, col) && !same(row, col + 1));
}

/* What is sent counts as shown at once: no cell is sent twice. */
static void put(int row, int col)
{
    bool wide = is_wide(row, col);
    term_put(&full.now.cells[row][col], wide, full.now.cols);
    memcpy(&full.shown.cells[row][col], &full.now.cells[row][col], (1U + wide) * sizeof(struct cell));
}

/* So many changed cells from here on that become plain blanks. */
static int blanks(int row, int col)
{
    int n = 0;
    while (col + n < full.now.cols && full.now.cells[row][col + n].ch == ' ' && changed(row, col + n) &&
           term_blank(&full.now.cells[row][col + n]))
        n++;
    return n;
}

/* To a changed cell: over a few unchanged ones of the same look by writing them again, else by moving. */
static void go(int row, int col)
{
    int from;
    bool bridge = term_ready(row, col, &from) && col - from <= BRIDGE;
    for (int c = from; bridge && c < col; c++)
        bridge = full.now.cells[row][c].ch && full.now.cells[row][c].ch < 0x80 &&
                 term_same_look(&full.now.cells[row][c], &full.now.cells[row][col]);
    if (!bridge)
        term_move(row, col);
    for (int c = from; bridge && c < col; c++)
        put(row, c);
}

/* The changed cells from here on; returns the column behind them. */
static int put_run(int row, int col)
{
    go(row, col);
    while (col < full.now.cols && full.now.cells[row][col].ch && changed(row, col)) {
        int n = blanks(row, col);
        if (n >= ERASE && term_erase(n)) {
            memcpy(&full.shown.cells[row][col], &full.now.cells[row][col], (size_t)n * sizeof(struct cell));
            return col + n;
        }
        int step = is_wide(row, col) ? 2 : 1;
        put(row, col);
        col += step;
    }
    return col;
}

/* The strokes of the figure stand below one another: a changed run right below is nearer than the next one in the row. */
static void put_down(int row, int col)
{
    int from;
    while (row < full.now.rows) {
        put_run(row, col);
        if (!term_ready(row, full.now.cols, &from) || ++row >= full.now.rows)
            return;
        for (col = from > NEAR ? from - NEAR : 0; col <= from && !changed(row, col);)
            col++;
        if (col > from || !full.now.cells[row][col].ch)
            return;
    }
}

/* Most rows are as they were: one comparison tells. */
static void draw_row(int row)
{
    if (!memcmp(full.now.cells[row], full.shown.cells[row], (size_t)full.now.cols * sizeof(struct cell)))
        return;
    for (int col = 0; col < full.now.cols; col++)
        if (full.now.cells[row][col].ch && changed(row, col))
            put_down(row, col);
}

static void draw_rows(const struct area *a)
{
    for (int row = a->row; row < a->row + a->rows; row++)
        draw_row(row);
}

static void draw_all(const struct view *v, const struct keys *k)
{
    layout_draw(&full.now, &full.layout, v, k, full.rows, full.cols);
    if (full.shown.rows != full.now.rows || full.shown.cols != full.now.cols) {
        term_clear();
        canvas_clear(&full.shown, full.now.rows, full.now.cols);
    }
    draw_rows(&(struct area){0, 0, full.now.rows, full.now.cols});
}

bool full_shows(void)
{
    return full.rows >= SCREEN_ROWS && full.cols >= SCREEN_COLS;
}

/* Ten times a second only the weights have moved: then neither the rest is laid out anew nor compared. */
void full_draw(const struct view *v, const struct keys *k)
{
    if (!term_is_open())
        return;
    if (term_size(&full.rows, &full.cols))
        full.shown.rows = 0;
    uint64_t still = layout_still(v, k);
    if (full.shown.rows && still == full.still && layout_move(&full.now, &full.layout, v, k)) {
        if (full.layout.weigh)
            draw_rows(&(struct area){full.layout.page.row, 0, full.layout.page_taken, full.now.cols});
        draw_rows(&full.layout.scales);
    } else {
        draw_all(v, k);
    }
    full.still = still;
    bool typing = full.now.cursor_row >= 0;
    term_cursor(typing);
    if (typing)
        term_move(full.now.cursor_row, full.now.cursor_col);
    term_flush();
}
