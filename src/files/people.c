/* People file into struct people. */
#include <string.h>
#include <strings.h>

#include "files/table.h"

/* Initials and numbers are one set: either is typed at the same prompt. */
static bool same_code(const struct people_entry *a, const char *code)
{
    return *code && (!strcasecmp(a->initials, code) || !strcmp(a->number, code));
}

/* Whoever types a code must be one person, whichever of the two codes it is, and '@' begins an answer's prompt number. */
static void check_person(const struct ini *doc, const struct ini_section *s, const struct people *all,
                         const struct people_entry *p)
{
    if (p->number[strspn(p->number, "0123456789")])
        table_fault(doc, s, "number", "not a number", "1 to 15 digits");
    if (p->initials[strcspn(p->initials, " \t@")])
        table_fault(doc, s, "initials", "a blank or @ in it", "letters, such as anm");
    if (p->initials[0] && !p->initials[strspn(p->initials, "0123456789")])
        table_fault(doc, s, "initials", "only digits, which is for \"number\"", "letters, such as anm");
    for (const struct people_entry *e = all->list; e < p; e++) {
        if (same_code(e, p->initials))
            table_fault(doc, s, "initials", "somebody else has them", "initials of their own");
        if (same_code(e, p->number))
            table_fault(doc, s, "number", "somebody else has it", "a number of their own");
    }
}

bool people_read(const struct file_text *text, struct people *out, struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    memset(out, 0, sizeof *out);
    ini_read(&doc, text, f);
    table_sections(&people_kind, &doc);
    for (unsigned i = 0; i < doc.section_count; i++) {
        const struct ini_section *s = &doc.sections[i];
        if (!table_kind(&people_kind, s, NULL))
            continue;
        if (out->count == STATION_PEOPLE) {
            faults_add(f, doc.path, s->line, "too many people; expected at most %d", STATION_PEOPLE);
            break;
        }
        struct people_entry *p = &out->list[out->count++];
        table_fill(&people_kind.sections[0], &doc, s, NULL, p);
        check_person(&doc, s, out, p);
    }
    return f->count == before;
}

const struct people_entry *people_find(const struct people *p, const char *code)
{
    for (unsigned i = 0; i < p->count; i++)
        if (same_code(&p->list[i], code))
            return &p->list[i];
    return NULL;
}
