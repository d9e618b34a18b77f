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

static struct cell *now(int row, int col)
{
    return canvas_at(&full.now, row, col);
}

/* Both pictures are of one size. */
static struct cell *shown(int row, int col)
{
    return canvas_at(&full.shown, row, col);
}

static bool same(int row, int col)
{
    return !memcmp(now(row, col), shown(row, col), sizeof(struct cell));
}

static bool is_wide(int row, int col)
{
    return col + 1 < full.now.cols && !now(row, col)[1].ch;
}

static bool changed(int row, int col)
{
    return !same(row, col) || (is_wide(row, col) && !same(row, col + 1));
}

/* What is sent counts as shown at once: no cell is sent twice. */
static void put(int row, int col)
{
    bool wide = is_wide(row, col);
    term_put(now(row, col), wide, full.now.cols);
    *shown(row, col) = *now(row, col);
    if (wide)
        *shown(row, col + 1) = *now(row, col + 1);
}

/* So many changed cells from here on that become plain blanks. */
static int blanks(int row, int col)
{
    int n = 0;
    while (col + n < full.now.cols && now(row, col + n)->ch == ' ' && changed(row, col + n) &&
           term_blank(now(row, col + n)))
        n++;
    return n;
}

/* To a changed cell: over a few unchanged ones of the same look by writing them again, else by moving. */
static void go(int row, int col)
{
    int from;
    bool bridge = term_ready(row, col, &from) && col - from <= BRIDGE;
    for (int c = from; bridge && c < col; c++)
        bridge = now(row, c)->ch && now(row, c)->ch < 0x80 && term_same_look(now(row, c), now(row, col));
    if (!bridge)
        term_move(row, col);
    for (int c = from; bridge && c < col; c++)
        put(row, c);
}

/* The changed cells from here on. */
static void put_run(int row, int col)
{
    go(row, col);
    while (col < full.now.cols && now(row, col)->ch && changed(row, col)) {
        int n = blanks(row, col);
        if (n >= ERASE && term_erase(n)) {
            memcpy(shown(row, col), now(row, col), (size_t)n * sizeof(struct cell));
            return;
        }
        int end = n && n < ERASE ? col + n : col + 1 + is_wide(row, col);
        for (; col < end; col += 1 + is_wide(row, col))
            put(row, col);
    }
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
        if (col > from || !now(row, col)->ch)
            return;
    }
}

/* Most cells are as they were. A right half that differs is drawn with its left one. */
static void draw_area(const struct area *a)
{
    for (int row = a->row; row < a->row + a->rows; row++)
        for (int col = a->col; col < a->col + a->cols; col++)
            if (!same(row, col))
                put_down(row, now(row, col)->ch ? col : col - 1);
}

/* The figure in a write of its own, with all that judges it (condition, what is to go, pointer): whoever pours looks at it.
 * The rest of the screen follows in the same wake-up. */
static void draw_page(void)
{
    const struct area *d = &full.layout.digits;
    draw_area(d);
    int unit = d->row + d->rows - 1;
    draw_area(&(struct area){unit, 0, full.layout.page.row + full.layout.page_taken - unit, full.now.cols});
    term_flush();
}

static void draw_all(const struct view *v, const struct keys *k)
{
    layout_draw(&full.now, &full.layout, v, k, full.rows, full.cols);
    if (full.shown.rows != full.now.rows || full.shown.cols != full.now.cols) {
        term_clear();
        canvas_clear(&full.shown, full.now.rows, full.now.cols);
    }
    draw_area(&(struct area){0, 0, full.now.rows, full.now.cols});
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
            draw_page();
        layout_move_scales(&full.now, &full.layout, v);
        draw_area(&full.layout.scales);
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
