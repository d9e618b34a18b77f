/* Canvas: cells, text on them, and what they look like as text. */
#include "screen/canvas.h"

#include <string.h>
#include <wchar.h>

#include "screen/text.h"

#define ELLIPSIS UINT32_C(0x2026)

void canvas_clear(struct canvas *c, int rows, int cols)
{
    c->rows = rows < CANVAS_ROWS ? rows : CANVAS_ROWS;
    c->cols = cols < CANVAS_COLS ? cols : CANVAS_COLS;
    c->cursor_row = c->cursor_col = -1;
    canvas_fill(c, 0, 0, c->cols, STYLE_PLAIN, ' ');
    for (int r = 1; r < c->rows; r++)
        memcpy(canvas_at(c, r, 0), c->cells, (size_t)c->cols * sizeof(struct cell));
}

/* Columns of a character: 0 for a combining one (left out: the letter stays readable), 2 for a wide one. */
static int char_columns(uint32_t ch)
{
    if (ch < 0x80 || (ch >= 0x2500 && ch <= 0x25FF)) /* ASCII, and the shapes that we draw with */
        return 1;
    int n = wcwidth((wchar_t)ch);
    return n < 0 ? 1 : n;
}

static bool is_plain(char c)
{
    return c >= ' ' && c < 0x7F;
}

static uint32_t next_char(const char **text)
{
    if (is_plain(**text))
        return (uint32_t) * (*text)++;
    uint32_t ch = utf8_next(text);
    return ch && utf8_unsafe(ch) ? '?' : ch;
}

int text_columns(const char *text)
{
    int n = 0;
    for (uint32_t ch; (ch = next_char(&text)) != 0;)
        n += char_columns(ch);
    return n;
}

static void set_cell(struct canvas *c, int row, int col, enum style style, uint32_t ch)
{
    if (row >= 0 && row < c->rows && col >= 0 && col < c->cols)
        *canvas_at(c, row, col) = (struct cell){ch & 0xFFFFFF, (uint8_t)style};
}

/* Most texts are plain ASCII: so many characters as it begins with, at most `room` of them, go straight into their cells. */
static int put_ascii(struct canvas *c, int row, int col, int room, enum style style, const char *text)
{
    int n = 0;
    if (row < 0 || row >= c->rows || col < 0)
        return 0;
    for (struct cell *cell = canvas_at(c, row, col); n < room && is_plain(text[n]); n++)
        *cell++ = (struct cell){(uint8_t)text[n], (uint8_t)style};
    return n;
}

void canvas_blank(struct canvas *c, const struct area *a)
{
    for (int r = 0; r < a->rows; r++)
        canvas_fill(c, a->row + r, a->col, a->cols, STYLE_PLAIN, ' ');
}

void canvas_fill(struct canvas *c, int row, int col, int width, enum style style, uint32_t ch)
{
    int from = col > 0 ? col : 0, to = col + width < c->cols ? col + width : c->cols;
    struct cell cell = {ch & 0xFFFFFF, (uint8_t)style};
    if (row < 0 || row >= c->rows || from >= to)
        return;
    for (struct cell *at = canvas_at(c, row, from), *end = at + (to - from); at < end; at++)
        *at = cell;
}

int canvas_put(struct canvas *c, int row, int col, int width, enum style style, const char *text)
{
    int room = width < c->cols - col ? width : c->cols - col;
    int used = put_ascii(c, row, col, room, style, text);
    text += used;
    if (!*text)
        return used;
    bool cut = used + text_columns(text) > room;
    if (cut && used == room && used > 0)
        used--; /* the ellipsis takes its place */
    for (uint32_t ch; (ch = next_char(&text)) != 0;) {
        int n = char_columns(ch);
        if (used + n > room - cut)
            break;
        if (!n)
            continue;
        set_cell(c, row, col + used, style, ch);
        if (n == 2)
            set_cell(c, row, col + used + 1, style, 0);
        used += n;
    }
    if (cut && room > 0)
        set_cell(c, row, col + used++, style, ELLIPSIS);
    return used;
}

void canvas_put_right(struct canvas *c, int row, int col, int width, enum style style, const char *text)
{
    int n = text_columns(text);
    if (n < width) {
        col += width - n;
        width = n;
    }
    canvas_put(c, row, col, width, style, text);
}

/* Bytes of the text that fit into `width` columns, broken at the last blank before; a longer word is cut. */
static size_t line_bytes(const char *text, int width)
{
    const char *p = text, *blank = NULL;
    for (int used = 0; *p;) {
        const char *at = p;
        uint32_t ch = next_char(&p);
        if (ch == ' ')
            blank = at;
        used += char_columns(ch);
        if (used > width)
            return (size_t)((blank && blank > text ? blank : at) - text);
    }
    return (size_t)(p - text);
}

/* The last row takes all that is left: canvas_put cuts it with an ellipsis, so that nobody takes it for the whole. */
int canvas_wrap(struct canvas *c, const struct area *a, enum style style, const char *text)
{
    char line[CANVAS_COLS * 4 + 1];
    int row = 0;
    while (*text && row < a->rows && a->cols > 0) {
        size_t n = row + 1 < a->rows ? line_bytes(text, a->cols) : strlen(text);
        if (!n || n >= sizeof line)
            n = n ? sizeof line - 1 : 1;
        memcpy(line, text, n);
        line[n] = 0;
        if (c)
            canvas_put(c, a->row + row, a->col, a->cols, style, line);
        row++;
        text += n;
        text += strspn(text, " ");
    }
    return row;
}

size_t canvas_row(const struct canvas *c, int row, char *buf, size_t cap)
{
    size_t len = 0, end = 0;
    for (int col = 0; col < c->cols && len + 5 < cap; col++) {
        uint32_t ch = c->cells[row * c->cols + col].ch;
        if (!ch)
            continue;
        len += utf8_put(ch, buf + len);
        if (ch != ' ')
            end = len;
    }
    buf[end] = 0;
    return end;
}
