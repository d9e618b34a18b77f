/* Page: see page.h. Blanks are counted and only written before the next character, so that no line ends in them. */
#include <stdbool.h>
#include <string.h>

#include "report/page.h"

/* A byte of a UTF-8 character that is not its first. */
static bool goes_on(char c)
{
    return ((unsigned char)c & 0xc0) == 0x80;
}

unsigned page_columns(const char *text)
{
    unsigned n = 0;
    for (; *text; text++)
        n += !goes_on(*text);
    return n;
}

/* C0 controls, DEL, and the C1 controls that UTF-8 writes as C2 80 .. C2 9F. Returns the bytes used. */
static size_t put_character(struct page *p, const char *text)
{
    size_t len = 1;
    while (goes_on(text[len]))
        len++;
    bool control = (unsigned char)text[0] < ' ' || text[0] == 127 ||
                   ((unsigned char)text[0] == 0xc2 && len > 1 && (unsigned char)text[1] < 0xa0);
    if (*text == ' ') {
        p->blanks++;
        p->column++;
        return len;
    }
    for (; p->blanks > 0; p->blanks--)
        putc(' ', p->to);
    if (control)
        putc('?', p->to);
    else
        fwrite(text, 1, len, p->to);
    p->column++;
    return len;
}

static void put_some(struct page *p, const char *text, unsigned columns)
{
    while (*text && columns-- > 0)
        text += put_character(p, text);
}

void page_text(struct page *p, const char *text)
{
    put_some(p, text, ~0u);
}

void page_indent(struct page *p, unsigned column)
{
    if (p->column < column) {
        p->blanks += column - p->column;
        p->column = column;
    }
}

static void put_cut(struct page *p, const char *text, unsigned width)
{
    bool cut = page_columns(text) > width;
    put_some(p, text, cut ? width - 1 : width);
    if (cut)
        page_text(p, "~");
}

void page_cell(struct page *p, const char *text, unsigned width)
{
    unsigned end = p->column + width + 1;
    put_cut(p, text, width);
    page_indent(p, end);
}

void page_right(struct page *p, const char *text, unsigned width)
{
    unsigned columns = page_columns(text);
    if (columns < width)
        page_indent(p, p->column + width - columns);
    page_text(p, text);
    page_text(p, " ");
}

void page_end_cell(struct page *p, const char *text, unsigned width)
{
    put_cut(p, text, width);
    page_end(p);
}

void page_end(struct page *p)
{
    putc('\n', p->to);
    p->column = p->blanks = 0;
}

static size_t word_length(const char *text, unsigned *columns)
{
    size_t len = strcspn(text, " ");
    *columns = 0;
    for (size_t i = 0; i < len; i++)
        *columns += !goes_on(text[i]);
    return len;
}

void page_wrap(struct page *p, unsigned indent, const char *text)
{
    bool first = true;
    while (*text) {
        unsigned columns;
        text += strspn(text, " ");
        size_t len = word_length(text, &columns);
        if (!len)
            return;
        if (!first && p->column + 1 + columns > PAGE_WIDTH) {
            page_end(p);
            page_indent(p, indent);
        } else if (!first) {
            page_text(p, " ");
        }
        put_some(p, text, columns);
        text += len;
        first = false;
    }
}

void page_heading(struct page *p, const char *text)
{
    page_end(p);
    page_text(p, text);
    page_end(p);
    for (int i = 0; i < PAGE_WIDTH; i++)
        page_text(p, "-");
    page_end(p);
}
