/* INI: a file as sections of entries, each with its line. The reading is libinih's; the watch over what it would drop,
 * cut or join without a word is ours. Strings point into the document. */
#ifndef FILES_INI_H
#define FILES_INI_H

#include "files/files.h"

#define INI_SECTIONS 160
#define INI_ENTRIES 1200
#define INI_LINE 900 /* longest line in bytes */
#define INI_WORD 49  /* longest section or key name: inih cuts longer ones */

struct ini_entry {
    unsigned line;
    const char *name, *value;
};
/* "[kind title]"; title "" if there is none. */
struct ini_section {
    unsigned line;
    unsigned first, count; /* its entries */
    bool bad;              /* it also holds lines that could not be read */
    char kind[INI_WORD + 1], title[INI_WORD + 1];
};

struct ini {
    const char *path;
    struct faults *faults;
    unsigned section_count, entry_count;
    struct ini_section sections[INI_SECTIONS];
    struct ini_entry entries[INI_ENTRIES];
    /* of the reader */
    const char *rest;
    unsigned line;
    bool full, orphan;
    bool lost; /* a section line could not be read: what is not there may have stood below it */
    size_t used;
    char pool[FILE_TEXT_MAX + 2]; /* names and values, each with its NUL: never longer than the text */
};

/* Splits the text; every line that is wrong is a fault. The document holds what was right. */
void ini_read(struct ini *doc, const struct file_text *text, struct faults *f);
/* An entry of a section by its key's name, or NULL. */
const struct ini_entry *ini_find(const struct ini *doc, const struct ini_section *s, const char *name);
/* The line of that entry; the section's own if the key was not given. */
unsigned ini_line(const struct ini *doc, const struct ini_section *s, const char *name);

#endif
