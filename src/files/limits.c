/* Limits file, resolved against a formula. */
#include <string.h>

#include "files/station_raw.h"

struct limits {
    const struct ini *doc;
    unsigned count;
    struct raw_limit list[INI_SECTIONS];
};

static bool same(const struct raw_limit *a, const struct raw_limit *b)
{
    return a->substance[0] && !strcmp(a->substance, b->substance) && !strcmp(a->jurisdiction, b->jurisdiction) &&
           !strcmp(a->product_class, b->product_class);
}

/* Two figures for one case would leave the choice to chance. */
static void check_double(const struct limits *l, const struct ini_section *s, const struct raw_limit *r)
{
    for (const struct raw_limit *e = l->list; e < r; e++)
        if (same(e, r))
            faults_add(l->doc->faults, l->doc->path, s->line,
                       "[limit %s]: %s in %s, class %s, has a limit already; expected one", s->title, r->substance,
                       r->jurisdiction, r->product_class);
    if (r->max.den && !r->max.num)
        table_fault(l->doc, s, "max", "not above zero", "the highest lawful share");
}

/* All limits are read, also those for other places and classes: a fault anywhere in the file is a reason not to trust it. */
static void read_all(struct limits *l, const struct file_text *text, struct ini *doc, struct faults *f)
{
    memset(l, 0, sizeof *l);
    l->doc = doc;
    ini_read(doc, text, f);
    table_sections(&limits_kind, doc);
    for (unsigned i = 0; i < doc->section_count; i++) {
        const struct ini_section *s = &doc->sections[i];
        if (!table_kind(&limits_kind, s, NULL))
            continue;
        struct raw_limit *r = &l->list[l->count++];
        table_fill(&limits_kind.sections[0], doc, s, NULL, r);
        check_double(l, s, r);
    }
}

/* Exactly one case fits: substance, jurisdiction and class all equal. Near is not enough: no limit is a fault. */
static void resolve(const struct limits *l, const char *jurisdiction, const struct formula *formula,
                    const struct ingredient *in, struct limit *out)
{
    struct raw_limit want = {.of = 0};
    memcpy(want.substance, in->substance, sizeof want.substance);
    memcpy(want.jurisdiction, jurisdiction, strnlen(jurisdiction, CAP_KEY - 1));
    memcpy(want.product_class, formula->product_class, sizeof want.product_class);
    for (unsigned i = 0; i < l->count; i++) {
        const struct raw_limit *r = &l->list[i];
        if (!same(r, &want))
            continue;
        memcpy(out->substance, r->substance, sizeof out->substance);
        memcpy(out->source, r->source, sizeof out->source);
        out->base = r->of ? BASE_TOTAL : BASE_MEAT;
        out->share = r->max;
        return;
    }
    faults_add(
        l->doc->faults, l->doc->path, 0,
        "no limit on %s for class %s in jurisdiction %s, but ingredient %s of formula %s is regulated; expected a "
        "[limit] section for it",
        in->substance, formula->product_class, jurisdiction, in->key, formula->id);
}

bool limits_read(const struct file_text *text, const char *jurisdiction, const struct formula *formula,
                 struct limit out[CAP_INGREDIENTS], struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    struct limits l;
    memset(out, 0, CAP_INGREDIENTS * sizeof *out);
    read_all(&l, text, &doc, f);
    for (unsigned i = 0; formula && i < formula->ingredient_count; i++) {
        const struct ingredient *in = &formula->ingredients[i];
        if (!in->substance[0])
            continue;
        if (!*jurisdiction)
            faults_add(
                f, text->path, 0,
                "ingredient %s is regulated (%s), but the station names no jurisdiction; expected \"jurisdiction\" in "
                "the station file",
                in->key, in->substance);
        else
            resolve(&l, jurisdiction, formula, in, &out[i]);
    }
    return f->count == before;
}

/* Names each regulated ingredient that has no limits file to be looked up in; a formula without any needs none. */
static bool limits_missing(const struct station *st, const struct formula *formula, struct faults *f)
{
    bool good = true;
    for (unsigned i = 0; i < formula->ingredient_count; i++) {
        const struct ingredient *in = &formula->ingredients[i];
        if (!in->substance[0])
            continue;
        good = false;
        if (!st->name[0])
            faults_add(
                f, formula->id, 0,
                "ingredient %s is regulated (%s); expected a station file (--station) that says whose limit holds, by "
                "its jurisdiction and limits",
                in->key, in->substance);
        else
            faults_add(
                f, formula->id, 0,
                "ingredient %s is regulated (%s), but station \"%s\" has no %s; expected \"%s\" in the station file",
                in->key, in->substance, st->name, st->jurisdiction[0] ? "limits file" : "jurisdiction",
                st->jurisdiction[0] ? "limits" : "jurisdiction");
    }
    return good;
}

bool limits_load(const struct station *st, const struct formula *formula, struct file_text *text,
                 struct limit out[CAP_INGREDIENTS], struct faults *f)
{
    char path[FILE_PATH];
    memset(out, 0, CAP_INGREDIENTS * sizeof *out);
    text->len = 0;
    text->path[0] = text->text[0] = '\0';
    if (!st->limits[0] || !st->jurisdiction[0])
        return limits_missing(st, formula, f);
    return file_find("limits", st->limits, path, f) && file_read(path, text, f) &&
           limits_read(text, st->jurisdiction, formula, out, f);
}
