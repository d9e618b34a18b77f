/* Full screen. */
#include "screen/full.h"

#include <string.h>

#include "screen/layout.h"
#include "screen/term.h"

#define BRIDGE 4   /* so many unchanged cells between two changed ones are written again rather than jumped over */
#define ERASE 6    /* so many blanks are rather erased than written */
#define TOGETHER 4 /* cells that are compared at once */
#define NEAR 5     /* so many columns to the left are reached cheaply (term_move) */

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

/* The first cell from col on that differs; most are as they were, so they are compared several at a time. */
static int next_changed(int row, int col, int end)
{
    const struct cell *a = now(row, 0), *b = shown(row, 0);
    while (col + TOGETHER <= end && !memcmp(a + col, b + col, TOGETHER * sizeof *a))
        col += TOGETHER;
    while (col < end && !memcmp(a + col, b + col, sizeof *a))
        col++;
    return col;
}

/* Behind the changed cells from here on: a wide character is never halved. */
static int run_end(int row, int col)
{
    const struct cell *a = now(row, 0), *b = shown(row, 0);
    do
        col++;
    while (col < full.now.cols && (!a[col].ch || memcmp(a + col, b + col, sizeof *a) != 0));
    return col;
}

/* What is sent counts as shown at once: no cell is sent twice. */
static void put(int row, int col, int end)
{
    term_put(now(row, col), end - col, full.now.cols);
    memcpy(shown(row, col), now(row, col), (size_t)(end - col) * sizeof(struct cell));
}

/* To a changed cell: over a few unchanged ones of the same look by writing them again, else by moving. */
static void go(int row, int col)
{
    int from;
    bool bridge = term_ready(row, col, &from) && col - from <= BRIDGE;
    for (int c = from; bridge && c < col; c++)
        bridge = now(row, c)->ch && now(row, c)->ch < 0x80 && term_same_look(now(row, c), now(row, col));
    if (bridge)
        put(row, from, col);
    else
        term_move(row, col);
}

/* The first of so many blanks in this stretch that it pays to erase them, *n of them; or its end. */
static int erasable(int row, int col, int end, int *n)
{
    const struct cell *a = now(row, 0);
    for (*n = 0; col < end; col++) {
        if (a[col].ch == ' ' && term_blank(&a[col]))
            ++*n;
        else if (*n >= ERASE)
            break;
        else
            *n = 0;
    }
    return *n >= ERASE ? col - *n : end;
}

/* The changed cells from here on, up to what is erased: behind it the cursor would have to be moved anyway. */
static void put_run(int row, int col)
{
    int n, end = run_end(row, col), blank = erasable(row, col, end, &n);
    go(row, col);
    put(row, col, blank);
    if (blank == end)
        return;
    if (term_erase(n))
        memcpy(shown(row, blank), now(row, blank), (size_t)n * sizeof(struct cell));
    else
        put(row, blank, end);
}

/* The strokes of the figure stand below one another: a changed run right below is nearer than the next one in the row. */
static void put_down(int row, int col)
{
    int from;
    while (row < full.now.rows) {
        put_run(row, col);
        if (!term_ready(row, full.now.cols, &from) || ++row >= full.now.rows)
            return;
        col = next_changed(row, from > NEAR ? from - NEAR : 0, from + 1);
        if (col > from || !now(row, col)->ch)
            return;
    }
}

/* A right half that differs is drawn with its left one. */
static void draw_area(const struct area *a)
{
    int end = a->col + a->cols;
    for (int row = a->row; row < a->row + a->rows; row++)
        for (int col = next_changed(row, a->col, end); col < end; col = next_changed(row, col + 1, end))
            put_down(row, now(row, col)->ch ? col : col - 1);
}

/* The figure in a write of its own, with all that judges it (condition, what is to go, pointer): whoever pours looks at it.
 * The rest of the screen follows in the same wake-up. */
static void draw_page(void)
{
    draw_area(&full.layout.digits);
    draw_area(&full.layout.below);
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
