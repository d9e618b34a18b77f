/* Table: sections and keys of a file against the rows of its kind. */
#include "files/table.h"

#include <stdlib.h>
#include <string.h>

#include "files/nearest.h"

const struct file_kind *const file_kinds[] = {&formula_kind, &scale_kind,  &station_kind,
                                              &people_kind,  &limits_kind, NULL};

const struct section_kind *table_kind(const struct file_kind *kind, const struct ini_section *s, unsigned *place)
{
    for (unsigned i = 0; i < kind->section_count; i++)
        if (!strcmp(kind->sections[i].name, s->kind)) {
            if (place)
                *place = i;
            return &kind->sections[i];
        }
    return NULL;
}

/* A slip gets the nearest word, anything else the whole list. */
static void unknown_section(const struct file_kind *kind, const struct ini *doc, const struct ini_section *s)
{
    struct nearest near = {0};
    char all[300] = "";
    for (unsigned i = 0; i < kind->section_count; i++) {
        nearest_offer(&near, s->kind, kind->sections[i].name);
        size_t n = strlen(all);
        snprintf(all + n, sizeof all - n, "%s[%s%s%s]", i ? ", " : "", kind->sections[i].name,
                 kind->sections[i].title ? " " : "", kind->sections[i].title ? kind->sections[i].title : "");
    }
    if (near.word)
        faults_add(doc->faults, doc->path, s->line, "no section [%s] in a %s file; nearest known section: [%s]",
                   s->kind, kind->name, near.word);
    else
        faults_add(doc->faults, doc->path, s->line, "no section [%s] in a %s file; expected %s", s->kind, kind->name,
                   all);
}

/* The title must be there if the kind has one, must not if it hasn't, and is a code of ours. */
static void check_title(const struct section_kind *k, const struct ini *doc, const struct ini_section *s)
{
    if (!k->title) {
        if (*s->title)
            faults_add(doc->faults, doc->path, s->line, "[%s] takes no name, but has \"%s\"; expected [%s]", s->kind,
                       s->title, s->kind);
    } else if (!*s->title) {
        faults_add(doc->faults, doc->path, s->line, "[%s] without a name; expected [%s %s]", s->kind, s->kind,
                   k->title);
    } else if (!code_good(s->title) || strlen(s->title) >= CAP_KEY) {
        faults_add(doc->faults, doc->path, s->line,
                   "the name \"%s\" is not of the form; expected 1 to %d of a-z, 0-9 and - (like pork-shoulder)",
                   s->title, CAP_KEY - 1);
    }
}

/* Joining two sections of one name would hide that a copy was changed and its original forgotten. */
static void check_double(const struct ini *doc, unsigned which)
{
    const struct ini_section *s = &doc->sections[which];
    for (unsigned i = 0; i < which; i++) {
        const struct ini_section *e = &doc->sections[i];
        if (!strcmp(e->kind, s->kind) && !strcmp(e->title, s->title)) {
            faults_add(doc->faults, doc->path, s->line, "[%s%s%s] stands a second time; it was begun in line %u",
                       s->kind, *s->title ? " " : "", s->title, e->line);
            return;
        }
    }
}

bool table_sections(const struct file_kind *kind, const struct ini *doc)
{
    unsigned seen[16] = {0};
    bool whole = !doc->lost;
    for (unsigned i = 0; i < doc->section_count; i++) {
        const struct ini_section *s = &doc->sections[i];
        unsigned place;
        const struct section_kind *k = table_kind(kind, s, &place);
        if (!k) {
            unknown_section(kind, doc, s);
            whole = false;
            continue;
        }
        seen[place]++;
        check_title(k, doc, s);
        check_double(doc, i);
    }
    for (unsigned i = 0; whole && i < kind->section_count; i++) {
        const struct section_kind *k = &kind->sections[i];
        if (seen[i] < k->least)
            faults_add(doc->faults, doc->path, 0, "no [%s%s%s] section; expected at least %u in a %s file", k->name,
                       k->title ? " " : "", k->title ? k->title : "", k->least, kind->name);
    }
    return whole;
}

void table_fault(const struct ini *doc, const struct ini_section *s, const char *key, const char *wrong,
                 const char *expected)
{
    const struct ini_entry *e = ini_find(doc, s, key);
    faults_add(doc->faults, doc->path, e ? e->line : s->line, "%s = %s: %s; expected %s", key, e ? e->value : "", wrong,
               expected);
}

/* The key that a name means, and which of its places (language, number). NULL: none; *why may say more. */
static const struct key *find_key(const struct section_kind *kind, const char *name, const struct languages *langs,
                                  unsigned *place, const char **why)
{
    const char *dot = strchr(name, '.');
    size_t n = dot ? (size_t)(dot - name) : strlen(name);
    *place = 0;
    *why = NULL;
    for (unsigned i = 0; i < kind->key_count; i++) {
        const struct key *k = &kind->keys[i];
        if (!strcmp(k->name, name) && !(k->flags & KEY_NUMBERED))
            return k;
        if (!dot || strlen(k->name) != n || strncmp(k->name, name, n) != 0)
            continue;
        if (k->flags & KEY_NUMBERED) {
            unsigned number = dot[1] >= '1' && dot[1] <= '9' && !dot[2] ? (unsigned)(dot[1] - '0') : 0;
            *place = number - 1;
            return number && number <= k->high ? k : NULL;
        }
        if (k->flags & KEY_LANGS) {
            for (unsigned l = 0; langs && l < langs->count; l++)
                if (!strcmp(langs->code[l], dot + 1)) {
                    *place = l;
                    return k;
                }
            *why = "a language that \"languages\" in [formula] does not list";
        }
    }
    return NULL;
}

/* An unknown key is never passed over: a misspelt limit would simply not be there. */
static void unknown_key(const struct section_kind *kind, const struct ini *doc, const struct ini_section *s,
                        const struct ini_entry *e)
{
    struct nearest near = {0};
    bool numbered = false;
    char all[400] = "";
    for (unsigned i = 0; i < kind->key_count; i++) {
        nearest_offer(&near, e->name, kind->keys[i].name);
        if (near.word == kind->keys[i].name)
            numbered = kind->keys[i].flags & KEY_NUMBERED;
        size_t n = strlen(all);
        snprintf(all + n, sizeof all - n, "%s%s%s", i ? ", " : "", kind->keys[i].name,
                 kind->keys[i].flags & KEY_NUMBERED ? ".1" : "");
    }
    if (near.word)
        faults_add(doc->faults, doc->path, e->line, "no key \"%s\" in [%s]; nearest known key: %s%s", e->name, s->kind,
                   near.word, numbered ? ".1" : "");
    else
        faults_add(doc->faults, doc->path, e->line, "no key \"%s\" in [%s]; expected one of %s", e->name, s->kind, all);
}

static void value_fault(const struct key *k, const struct ini *doc, const struct ini_entry *e, const char *wrong)
{
    char expected[300];
    value_expected(k, expected, sizeof expected);
    faults_add(doc->faults, doc->path, e->line, "%s = %s: %s; expected %s", e->name, e->value, wrong, expected);
}

static const struct ini_entry *earlier(const struct ini *doc, const struct ini_section *s, const struct ini_entry *e)
{
    const struct ini_entry *first = ini_find(doc, s, e->name);
    return first == e ? NULL : first;
}

/* One line of a section, with every way in which it can be wrong. */
static void fill_entry(const struct section_kind *kind, const struct ini *doc, const struct ini_section *s,
                       const struct ini_entry *e, const struct languages *langs, void *into)
{
    unsigned place;
    const char *why;
    const struct key *k = find_key(kind, e->name, langs, &place, &why);
    if (!k && why) {
        faults_add(doc->faults, doc->path, e->line, "%s: %s; expected it there, or another ending", e->name, why);
        return;
    }
    if (!k) {
        unknown_key(kind, doc, s, e);
        return;
    }
    const struct ini_entry *first = earlier(doc, s, e);
    if (first) {
        faults_add(doc->faults, doc->path, e->line,
                   "\"%s\" stands a second time in this section; it was given in line %u", e->name, first->line);
        return;
    }
    const char *wrong = value_take(k, e->value, (char *)into + k->offset + (size_t)place * k->room);
    if (wrong)
        value_fault(k, doc, e, wrong);
}

void table_fill(const struct section_kind *kind, const struct ini *doc, const struct ini_section *s,
                const struct languages *langs, void *into)
{
    for (unsigned i = 0; i < kind->key_count; i++) {
        const struct key *k = &kind->keys[i];
        /* defaults pass the same reader as a file's own text, so the reference page can't say anything else */
        if (k->fallback)
            (void)value_take(k, k->fallback, (char *)into + k->offset);
        if ((k->flags & KEY_REQUIRED) && !s->bad && !ini_find(doc, s, k->name)) {
            char expected[300];
            value_expected(k, expected, sizeof expected);
            faults_add(doc->faults, doc->path, s->line, "[%s%s%s] has no \"%s\"; expected %s", s->kind,
                       *s->title ? " " : "", s->title, k->name, expected);
        }
    }
    for (unsigned i = 0; i < s->count; i++)
        fill_entry(kind, doc, s, &doc->entries[s->first + i], langs, into);
}
