/* The procedure of a formula: what is added when, and that everything is added exactly once. */
#include <string.h>

#include "files/formula_raw.h"
#include "files/nearest.h"

#define NOT_ADDED 255
#define MEAT_STEP "meat" /* key of the addition of meats that no [add] lists */

/* The place of a part by its key, -1 if there is none. Of two with one name, which is a fault of its own, the first. */
static int find_part(const struct raw_formula *raw, const char *key)
{
    for (unsigned i = 0; i < raw->part_count; i++)
        if (!strcmp(raw->parts[i].section->title, key))
            return (int)i;
    return -1;
}

static void unknown_part(const struct raw_formula *raw, const struct raw_step *st, const char *key)
{
    struct nearest near = {0};
    if (!raw->whole)
        return;
    for (unsigned i = 0; i < raw->part_count; i++)
        nearest_offer(&near, key, raw->parts[i].section->title);
    faults_add(raw->doc->faults, raw->doc->path, ini_line(raw->doc, st->section, "ingredients"),
               "[add %s]: no [meat] or [ingredient] has the name \"%s\"; %s%s", st->section->title, key,
               near.word ? "nearest known name: " : "expected one of this file's", near.word ? near.word : "");
}

/* Marks what one [add] lists with its step. */
static void take_list(const struct raw_formula *raw, const struct raw_step *st, uint8_t step, struct formula *out)
{
    char key[INI_WORD + 1];
    bool too_long;
    bool any = false;
    if (!st->ingredients)
        return; /* missing: already a fault */
    for (const char *at = st->ingredients; (at = list_next(at, key, sizeof key, &too_long)) != NULL;) {
        int i = find_part(raw, key);
        any = true;
        if (i < 0) {
            unknown_part(raw, st, key);
        } else if (out->ingredients[i].add_step != NOT_ADDED) {
            faults_add(raw->doc->faults, raw->doc->path, ini_line(raw->doc, st->section, "ingredients"),
                       "[add %s]: \"%s\" is already added in [add %s]; expected it once", st->section->title, key,
                       out->steps[out->ingredients[i].add_step].key);
        } else {
            out->ingredients[i].add_step = step;
        }
    }
    if (!any)
        table_fault(raw->doc, st->section, "ingredients", "it is empty", "at least one name");
}

/* A check that nothing can fail would only be ceremony. */
static void check_check(const struct raw_formula *raw, const struct raw_step *st)
{
    bool given = ini_find(raw->doc, st->section, "low") || ini_find(raw->doc, st->section, "high");
    if (!given && !st->section->bad)
        faults_add(raw->doc->faults, raw->doc->path, st->section->line,
                   "[check %s] has neither \"low\" nor \"high\"; expected at least one", st->section->title);
    else if (st->low != CHECK_NONE && st->high != CHECK_NONE && st->low > st->high)
        table_fault(raw->doc, st->section, "low", "it is above \"high\"", "a number not above it");
}

static void step_out(const struct raw_step *st, struct step *out)
{
    out->kind = st->kind;
    memcpy(out->key, st->section->title, strnlen(st->section->title, CAP_KEY - 1));
    memcpy(out->text, st->text, sizeof out->text);
    memcpy(out->unit, st->unit, sizeof out->unit);
    out->low_milli = st->low;
    out->high_milli = st->high;
}

/* Steps have one set of names, whatever their kind. */
static void check_name(const struct raw_formula *raw, const struct raw_step *st, bool implied)
{
    if (implied && !strcmp(st->section->title, MEAT_STEP))
        faults_add(raw->doc->faults, raw->doc->path, st->section->line,
                   "\"" MEAT_STEP "\" is the name of the addition of meats that no [add] lists; expected another name");
    for (const struct raw_step *e = raw->steps; e < st; e++)
        if (!strcmp(e->section->title, st->section->title) && strcmp(e->section->kind, st->section->kind) != 0)
            faults_add(raw->doc->faults, raw->doc->path, st->section->line,
                       "\"%s\" is already the name of the [%s] in line %u; expected another name", st->section->title,
                       e->section->kind, e->section->line);
}

/* True if some meat is in no [add]'s list. */
static bool meat_left(const struct raw_formula *raw)
{
    for (unsigned i = 0; i < raw->part_count; i++) {
        bool listed = !raw->parts[i].meat;
        for (unsigned k = 0; k < raw->step_count && !listed; k++) {
            char key[INI_WORD + 1];
            bool too_long;
            const char *at = raw->steps[k].ingredients ? raw->steps[k].ingredients : "";
            while (!listed && (at = list_next(at, key, sizeof key, &too_long)) != NULL)
                listed = !strcmp(key, raw->parts[i].section->title);
        }
        if (!listed)
            return true;
    }
    return false;
}

/* Weighed and left standing is the mistake this guards against: every part goes into the mixer once. */
static void check_added(const struct raw_formula *raw, const struct formula *out)
{
    for (unsigned i = 0; raw->whole && i < raw->part_count; i++)
        if (out->ingredients[find_part(raw, raw->parts[i].section->title)].add_step == NOT_ADDED)
            faults_add(raw->doc->faults, raw->doc->path, raw->parts[i].section->line,
                       "[ingredient %s] is weighed but never added; expected it in the list of an [add]",
                       raw->parts[i].section->title);
}

/* Meats that no [add] lists go in first, in a step of their own before those of the file: the common case needs no words. */
void formula_steps(const struct raw_formula *raw, struct formula *out)
{
    bool implied = meat_left(raw);
    if (implied && raw->step_count == CAP_STEPS) {
        faults_add(raw->doc->faults, raw->doc->path, 0,
                   "too many steps; expected at most %d with the meat's own addition", CAP_STEPS);
        return;
    }
    out->step_count = 0;
    if (implied) {
        struct step *first = &out->steps[out->step_count++];
        first->kind = STEP_ADD;
        memcpy(first->key, MEAT_STEP, sizeof MEAT_STEP);
        first->low_milli = first->high_milli = CHECK_NONE;
    }
    for (unsigned i = 0; i < raw->part_count; i++)
        out->ingredients[i].add_step = NOT_ADDED;
    for (unsigned k = 0; k < raw->step_count; k++) {
        const struct raw_step *st = &raw->steps[k];
        uint8_t place = out->step_count++;
        check_name(raw, st, implied);
        step_out(st, &out->steps[place]);
        if (st->kind == STEP_ADD)
            take_list(raw, st, place, out);
        if (st->kind == STEP_CHECK)
            check_check(raw, st);
    }
    /* meats that no [add] lists: into the implied first step */
    for (unsigned i = 0; i < raw->part_count; i++)
        if (raw->parts[i].meat && out->ingredients[i].add_step == NOT_ADDED)
            out->ingredients[i].add_step = 0;
    check_added(raw, out);
}
