/* Formula file into struct formula: sections into raw parts and steps, then the cross-checks. */
#include <string.h>

#include "files/formula_raw.h"

/* "en de" into codes, the first for plain keys. */
static void read_languages(struct raw_formula *raw)
{
    struct languages *l = &raw->langs;
    char word[16];
    bool too_long;
    bool wrong = false;
    for (const char *at = raw->head.languages; (at = list_next(at, word, sizeof word, &too_long)) != NULL;) {
        size_t n = strlen(word);
        bool good = (n == 2 || n == 3) && strspn(word, "abcdefghijklmnopqrstuvwxyz") == n;
        for (unsigned i = 0; i < l->count; i++)
            good = good && strcmp(l->code[i], word) != 0;
        if (!good || l->count == CAP_LANGS)
            wrong = true;
        else
            memcpy(l->code[l->count++], word, n + 1);
    }
    if (wrong || !l->count)
        table_fault(raw->doc, raw->head_section, "languages", "not a list of languages",
                    "at most three different ones of two or three letters, such as en de");
}

/* Names in other languages need the list of them first. */
static void read_head(struct raw_formula *raw)
{
    const struct section_kind *kind = &formula_kind.sections[0];
    const struct ini_section *s = raw->head_section;
    const struct ini_entry *languages = ini_find(raw->doc, s, "languages");
    raw->head.languages = languages && *languages->value ? languages->value : "en";
    read_languages(raw);
    table_fill(kind, raw->doc, s, &raw->langs, &raw->head);
}

/* Parts and steps are kept as they are said; what they mean for one another is judged when all are there, so that their
 * order in the file is free. */
static void read_part(struct raw_formula *raw, const struct section_kind *kind, const struct ini_section *s)
{
    if (raw->part_count == CAP_INGREDIENTS) {
        faults_add(raw->doc->faults, raw->doc->path, s->line, "too many meats and ingredients; expected at most %d",
                   CAP_INGREDIENTS);
        return;
    }
    struct raw_part *p = &raw->parts[raw->part_count++];
    p->section = s;
    p->meat = !strcmp(kind->name, "meat");
    table_fill(kind, raw->doc, s, &raw->langs, p);
}

static void read_step(struct raw_formula *raw, const struct section_kind *kind, const struct ini_section *s)
{
    if (raw->step_count == CAP_STEPS) {
        faults_add(raw->doc->faults, raw->doc->path, s->line, "too many steps; expected at most %d", CAP_STEPS);
        return;
    }
    struct raw_step *st = &raw->steps[raw->step_count++];
    st->section = s;
    st->kind = !strcmp(kind->name, "add") ? STEP_ADD : !strcmp(kind->name, "check") ? STEP_CHECK : STEP_INSTRUCTION;
    st->low = st->high = CHECK_NONE;
    table_fill(kind, raw->doc, s, &raw->langs, st);
}

static void read_sections(struct raw_formula *raw)
{
    for (unsigned i = 0; i < raw->doc->section_count; i++) {
        const struct ini_section *s = &raw->doc->sections[i];
        unsigned place;
        const struct section_kind *kind = table_kind(&formula_kind, s, &place);
        if (!kind || s == raw->head_section)
            continue;
        if (place == 1 || place == 2)
            read_part(raw, kind, s);
        else if (place > 2)
            read_step(raw, kind, s);
    }
}

/* Meat is either what the lugs weigh or what the plan says: a file that says both, or neither, is not guessed at. */
static void check_basis(const struct raw_formula *raw)
{
    bool planned = raw->head.basis == 1;
    bool given = ini_find(raw->doc, raw->head_section, "meat") != NULL;
    if (planned && !given)
        faults_add(raw->doc->faults, raw->doc->path, ini_line(raw->doc, raw->head_section, "basis"),
                   "basis = planned without \"meat\"; expected the mass of the meat block, such as meat = 20 kg");
    if (!planned && given)
        table_fault(raw->doc, raw->head_section, "meat", "the basis is weighed, so the lugs say how much meat there is",
                    "it left out, or basis = planned");
}

/* What of the head is the formula's own, when the cross-checks need no more of it. */
static void head_out(const struct raw_formula *raw, struct formula *out)
{
    memcpy(out->id, raw->head.id, sizeof out->id);
    memcpy(out->product_class, raw->head.product_class, sizeof out->product_class);
    memcpy(out->name, raw->head.name, sizeof out->name);
    memcpy(out->lang, raw->langs.code, sizeof out->lang);
    out->lang_count = (uint8_t)raw->langs.count;
    out->basis = raw->head.basis == 1 ? BASIS_PLANNED : BASIS_WEIGHED;
    out->planned_meat = raw->head.meat;
}

bool formula_read(const struct file_text *text, struct formula *out, struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    struct raw_formula raw;
    memset(out, 0, sizeof *out);
    memset(&raw, 0, sizeof raw);
    raw.doc = &doc;
    ini_read(&doc, text, f);
    raw.whole = table_sections(&formula_kind, &doc);
    for (unsigned i = 0; i < doc.section_count && !raw.head_section; i++)
        if (!strcmp(doc.sections[i].kind, formula_kind.sections[0].name))
            raw.head_section = &doc.sections[i];
    if (!raw.head_section)
        return false;
    read_head(&raw);
    read_sections(&raw);
    check_basis(&raw);
    head_out(&raw, out);
    formula_parts(&raw, out);
    formula_order(&raw, out);
    formula_steps(&raw, out);
    return f->count == before;
}
