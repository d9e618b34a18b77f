/* Page: lines of text, 80 columns wide. What people typed may hold anything: control characters never reach the reader's
 * terminal, and columns are counted in characters. */
#ifndef REPORT_PAGE_H
#define REPORT_PAGE_H

#include <stdio.h>

#define PAGE_WIDTH 80

struct page {
    FILE *to;
    unsigned column; /* where the next character goes */
    unsigned blanks; /* of these, not yet written: a line never ends in any */
};

/* Characters of a UTF-8 text (one column each; a few scripts are wider on a terminal). */
unsigned page_columns(const char *text);
/* Puts text as it is, control characters shown as '?'. */
void page_text(struct page *p, const char *text);
/* A text to the left (or right) in so many columns and a blank; what is longer is cut and ends in "~". */
void page_cell(struct page *p, const char *text, unsigned width);
void page_right(struct page *p, const char *text, unsigned width);
/* The last cell of a line: nothing is padded, the line ends. */
void page_end_cell(struct page *p, const char *text, unsigned width);
void page_end(struct page *p);
/* Words, wrapped at the width, each further line after `indent` blanks; the line goes on. */
void page_wrap(struct page *p, unsigned indent, const char *text);
void page_indent(struct page *p, unsigned column);
/* An empty line, a heading in capitals and a rule. */
void page_heading(struct page *p, const char *text);

#endif
