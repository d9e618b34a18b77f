/* docs/files.md, printed from the same rows that read the files. */
#include <stdio.h>
#include <string.h>

#include "files/table.h"

static const char head[] =
    "# Files: every section and key\n"
    "\n"
    "Printed by `tareline check --keys` from the tables that read the files; a test keeps the two equal.\n"
    "\n"
    "All files are INI text in UTF-8: sections in brackets, `key = value` lines below them, comments in lines of their "
    "own\n"
    "that begin with `#` or `;`. A value ends with its line (at most 900 bytes). `tareline check FILE...` reports "
    "every\n"
    "fault of a file in one run, as `FILE:LINE: what is wrong; what was expected`.\n"
    "\n"
    "- A **mass** is a decimal and a unit: `12.5 kg`, `340 g`, `3 lb 4.5 oz`; units kg, g, mg, lb, oz, gr (grain).\n"
    "  A bare number is a fault.\n"
    "- A **key** of ours (names of sections, substances, classes) is 1 to 31 of a-z, 0-9 and `-`.\n"
    "- A key that reads `name, name.LANGUAGE` may be given once for each of the formula's languages; the plain one is "
    "the\n"
    "  first language.\n";

/* A bar would end the table's cell. */
static void print_cell(FILE *to, const char *text)
{
    for (; *text; text++) {
        if (*text == '|')
            fputc('\\', to);
        fputc(*text, to);
    }
}

static void print_key(FILE *to, const struct key *k)
{
    char expected[300];
    value_expected(k, expected, sizeof expected);
    if (k->flags & KEY_NUMBERED)
        fprintf(to, "| `%s.1` ... `%s.%lld` | ", k->name, k->name, (long long)k->high);
    else
        fprintf(to, "| `%s`%s%s%s | ", k->name, k->flags & KEY_LANGS ? ", `" : "", k->flags & KEY_LANGS ? k->name : "",
                k->flags & KEY_LANGS ? ".LANGUAGE`" : "");
    print_cell(to, expected);
    fputs(" | ", to);
    if (k->fallback)
        fprintf(to, "`%s`", k->fallback);
    else
        fputs(k->flags & KEY_REQUIRED ? "must be given" : "none", to);
    fputs(" | ", to);
    print_cell(to, k->help);
    fputs(" |\n", to);
}

static void print_section(FILE *to, const struct section_kind *s)
{
    fprintf(to, "\n### [%s%s%s]\n\n%s%s\n\n", s->name, s->title ? " " : "", s->title ? s->title : "", s->help,
            !s->title  ? s->least ? " Once." : " At most once."
            : s->least ? " At least one."
                       : " Any number.");
    fputs("| key | value | if absent | meaning |\n|---|---|---|---|\n", to);
    for (unsigned i = 0; i < s->key_count; i++)
        print_key(to, &s->keys[i]);
}

void files_reference(FILE *to)
{
    fputs(head, to);
    for (unsigned i = 0; file_kinds[i]; i++) {
        const struct file_kind *k = file_kinds[i];
        fprintf(to, "\n## %c%s file\n\n%s Shipped ones: `profiles/%s/`.\n", k->name[0] & ~0x20, k->name + 1, k->help,
                k->folder);
        for (unsigned s = 0; s < k->section_count; s++)
            print_section(to, &k->sections[s]);
    }
}
