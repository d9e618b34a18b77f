/* Any of our files: what kind it is, and every fault of it. */
#include <string.h>

#include "files/nearest.h"
#include "files/table.h"

/* The kind whose leading section the file begins with. A station file and a profile both have [scale], but only a
 * profile begins with it. */
static const struct file_kind *kind_of(const struct ini *doc)
{
    for (unsigned i = 0; doc->section_count && file_kinds[i]; i++)
        if (!strcmp(file_kinds[i]->sections[0].name, doc->sections[0].kind))
            return file_kinds[i];
    return NULL;
}

/* Told apart by content, not by name: files are copied and renamed. */
static void not_ours(const struct ini *doc, struct faults *f)
{
    char all[200] = "";
    struct nearest near = {0};
    const char *first = doc->section_count ? doc->sections[0].kind : "";
    for (unsigned i = 0; file_kinds[i]; i++) {
        size_t n = strlen(all);
        snprintf(all + n, sizeof all - n, "%s[%s]", i ? ", " : "", file_kinds[i]->sections[0].name);
        nearest_offer(&near, first, file_kinds[i]->sections[0].name);
    }
    if (near.word)
        faults_add(f, doc->path, doc->sections[0].line,
                   "the first section [%s] is not known; nearest known section: [%s]", first, near.word);
    else
        faults_add(f, doc->path, doc->section_count ? doc->sections[0].line : 0,
                   "can't tell what kind of file it is; expected its first section to be one of %s", all);
}

/* The n-th section of a kind, or NULL. */
static const struct ini_section *nth(const struct ini *doc, const char *kind, unsigned n)
{
    for (unsigned i = 0; i < doc->section_count; i++)
        if (!strcmp(doc->sections[i].kind, kind) && n-- == 0)
            return &doc->sections[i];
    return NULL;
}

/* Reads a file that a key names. One that is not there is the key's fault: what reading it said ("PATH: can't be ...") is told
 * in the key's line, without the path, which stands there already. */
static bool read_named(const struct ini *doc, const struct ini_section *s, const char *key, const char *kind,
                       const char *name, struct file_text *out, struct faults *f)
{
    struct faults own = {0};
    char path[FILE_PATH];
    if (!name[0] || !s)
        return false;
    if (file_find(kind, name, path, &own) && file_read(path, out, &own))
        return true;
    const struct ini_entry *e = ini_find(doc, s, key);
    const char *what = strstr(own.text, ": ");
    faults_add(f, doc->path, e ? e->line : s->line, "%s = %s: %.*s", key, e ? e->value : "",
               (int)strcspn(own.text, "\n") - (int)(what ? what + 2 - own.text : 0), what ? what + 2 : own.text);
    return false;
}

/* Files that a station names are part of it: each is read too. */
static void check_station(const struct file_text *text, const struct ini *doc, struct faults *f)
{
    struct station st;
    struct file_text other;
    station_read(text, &st, f);
    const struct ini_section *head = nth(doc, "station", 0);
    for (unsigned i = 0; i < st.scale_count; i++) {
        struct profile p;
        if (read_named(doc, nth(doc, "scale", i), "profile", "scales", st.scales[i].profile, &other, f))
            profile_read(&other, &p, f);
    }
    if (read_named(doc, head, "limits", "limits", st.limits, &other, f)) {
        struct limit none[CAP_INGREDIENTS];
        limits_read(&other, "", NULL, none, f);
    }
    if (read_named(doc, head, "people", "stations", st.people, &other, f)) {
        struct people people;
        people_read(&other, &people, f);
    }
}

static void check_kind(const struct file_kind *kind, const struct file_text *text, const struct ini *doc,
                       struct faults *f)
{
    if (kind == &formula_kind) {
        struct formula formula;
        formula_read(text, &formula, f);
    } else if (kind == &scale_kind) {
        struct profile profile;
        profile_read(text, &profile, f);
    } else if (kind == &station_kind) {
        check_station(text, doc, f);
    } else if (kind == &people_kind) {
        struct people people;
        people_read(text, &people, f);
    } else {
        struct limit limits[CAP_INGREDIENTS];
        limits_read(text, "", NULL, limits, f);
    }
}

bool file_check(const struct file_text *text, const char **kind, struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    struct faults quiet = {0};
    ini_read(&doc, text, &quiet); /* only to see the kind: its reader says these faults itself */
    const struct file_kind *k = kind_of(&doc);
    *kind = k ? k->name : "";
    if (k) {
        check_kind(k, text, &doc, f);
    } else {
        ini_read(&doc, text, f);
        not_ours(&doc, f);
    }
    return f->count == before;
}
