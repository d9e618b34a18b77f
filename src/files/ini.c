/* INI through libinih.
 *
 * As Debian builds it, inih gives its handler no line number, drops empty sections, joins indented lines to the key
 * above, cuts long names and reports only the first bad line. So it is fed by a reader that counts lines, notes every
 * section and hands on only lines that inih can't misread: a faulty line is reported and replaced by an empty one. */
#include "files/ini.h"

#include <ini.h>
#include <string.h>

static bool blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

static const char *copy(struct ini *doc, const char *from, size_t n)
{
    char *to = doc->pool + doc->used;
    memcpy(to, from, n);
    to[n] = '\0';
    doc->used += n + 1;
    return to;
}

/* Splits the words between the brackets into kind and title. */
static bool section_words(struct ini_section *s, const char *at, size_t n)
{
    size_t kind = 0;
    while (kind < n && !blank(at[kind]))
        kind++;
    size_t title = kind;
    while (title < n && blank(at[title]))
        title++;
    if (kind > INI_WORD || n - title > INI_WORD || n > INI_WORD)
        return false;
    memcpy(s->kind, at, kind);
    s->kind[kind] = '\0';
    memcpy(s->title, at + title, n - title);
    s->title[n - title] = '\0';
    return true;
}

/* A line that begins with '['. True if inih may have it. As long as the line is not known to be good its entries are orphans:
 * else they would land in the section before. */
static bool section_line(struct ini *doc, const char *at, size_t n)
{
    const char *end = memchr(at, ']', n);
    bool lost = doc->lost;
    doc->orphan = doc->lost = true;
    if (!end) {
        faults_add(doc->faults, doc->path, doc->line, "a section without its closing bracket; expected [name]");
        return false;
    }
    if (end + 1 != at + n) {
        faults_add(doc->faults, doc->path, doc->line,
                   "text after the closing bracket of a section; expected [name] alone");
        return false;
    }
    const char *from = at + 1;
    while (from < end && blank(*from))
        from++;
    while (end > from && blank(end[-1]))
        end--;
    if (doc->section_count == INI_SECTIONS) {
        if (!doc->full)
            faults_add(doc->faults, doc->path, doc->line, "too many sections; expected at most %d", INI_SECTIONS);
        doc->full = true;
        return false;
    }
    struct ini_section *s = &doc->sections[doc->section_count];
    if (from == end || !section_words(s, from, (size_t)(end - from))) {
        faults_add(doc->faults, doc->path, doc->line, "a section name of %zu bytes; expected 1 to %d",
                   (size_t)(end - from), INI_WORD);
        return false;
    }
    s->line = doc->line;
    s->first = doc->entry_count;
    s->count = 0;
    s->bad = false;
    doc->section_count++;
    doc->orphan = false;
    doc->lost = lost;
    return true;
}

static void bad_entry(struct ini *doc, const char *wrong)
{
    faults_add(doc->faults, doc->path, doc->line, "%s", wrong);
    if (!doc->orphan)
        doc->sections[doc->section_count - 1].bad = true;
}

/* A line "key = value". True if inih may have it. */
static bool entry_line(struct ini *doc, const char *at, size_t n)
{
    const char *equals = memchr(at, '=', n);
    const char *colon = memchr(at, ':', n);
    const char *wrong = NULL;
    size_t name = equals ? (size_t)(equals - at) : 0;
    while (name && blank(at[name - 1]))
        name--;
    if (!equals || (colon && colon < equals))
        wrong = "no \"=\" after the key (a value can't go on in a second line); expected key = value";
    else if (!name)
        wrong = "no key before the \"=\"; expected key = value";
    else if (name > INI_WORD)
        wrong = "a key longer than 49 bytes; expected key = value";
    if (wrong)
        bad_entry(doc, wrong);
    return !wrong;
}

static bool good_line(struct ini *doc, const char *at, size_t n)
{
    size_t whole = n; /* with the blanks around it: inih's buffer takes them too */
    if (doc->line == 1 && n >= 3 &&
        !memcmp(at, "\xef\xbb\xbf", 3)) { /* a byte order mark, which inih passes over too */
        at += 3;
        n -= 3;
    }
    while (n && blank(at[n - 1]))
        n--;
    while (n && blank(*at)) {
        at++;
        n--;
    }
    if (!n || *at == '#' || *at == ';')
        return true;
    if (whole > INI_LINE) {
        char wrong[80];
        snprintf(wrong, sizeof wrong, "a line of %zu bytes; expected at most %d", whole, INI_LINE);
        bad_entry(doc, wrong);
        return false;
    }
    return *at == '[' ? section_line(doc, at, n) : entry_line(doc, at, n);
}

/* inih's reader, in the manner of fgets. Comments and faulty lines reach inih as empty ones. */
static char *read_line(char *buf, int cap, void *stream)
{
    struct ini *doc = stream;
    const char *at = doc->rest;
    if (!*at)
        return NULL;
    const char *end = strchr(at, '\n');
    size_t n = end ? (size_t)(end - at) : strlen(at);
    doc->rest = end ? end + 1 : at + n;
    doc->line++;
    if (!good_line(doc, at, n) || n + 2 > (size_t)cap) /* only a comment can be longer */
        n = 0;
    memcpy(buf, at, n);
    buf[n] = '\n';
    buf[n + 1] = '\0';
    return buf;
}

static int take_entry(void *user, const char *section, const char *name, const char *value)
{
    struct ini *doc = user;
    (void)section; /* cut at 49 bytes and silent about empty ones: the reader's own note of it is used */
    if (doc->orphan) {
        if (!doc->section_count)
            faults_add(doc->faults, doc->path, doc->line,
                       "a key before the first section; expected [section] above it");
        return 1; /* below a bad section line, which was reported */
    }
    if (doc->entry_count == INI_ENTRIES) {
        if (!doc->full)
            faults_add(doc->faults, doc->path, doc->line, "too many keys; expected at most %d", INI_ENTRIES);
        doc->full = true;
        return 1;
    }
    struct ini_section *s = &doc->sections[doc->section_count - 1];
    struct ini_entry *e = &doc->entries[doc->entry_count++];
    e->line = doc->line;
    e->name = copy(doc, name, strlen(name));
    e->value = copy(doc, value ? value : "", value ? strlen(value) : 0);
    s->count++;
    return 1;
}

void ini_read(struct ini *doc, const struct file_text *text, struct faults *f)
{
    doc->path = text->path;
    doc->faults = f;
    doc->section_count = doc->entry_count = 0;
    doc->rest = text->text;
    doc->line = 0;
    doc->full = doc->lost = false;
    doc->orphan = true;
    doc->used = 0;
    /* inih's settings are variables of the whole process: those that matter are set here, whatever it was built with. */
    ini_allow_multiline = 0;
    ini_allow_inline_comments = 0;
    ini_allow_no_value = 1;
    ini_max_line = 1000; /* above INI_LINE with its end: inih never cuts */
    int bad = ini_parse_stream(read_line, doc, take_entry, doc);
    if (bad) /* the reader let through what inih does not take */
        faults_add(f, text->path, bad > 0 ? (unsigned)bad : 0, "not a line of an INI file; expected key = value");
}

const struct ini_entry *ini_find(const struct ini *doc, const struct ini_section *s, const char *name)
{
    for (unsigned i = 0; i < s->count; i++)
        if (!strcmp(doc->entries[s->first + i].name, name))
            return &doc->entries[s->first + i];
    return NULL;
}

unsigned ini_line(const struct ini *doc, const struct ini_section *s, const char *name)
{
    const struct ini_entry *e = ini_find(doc, s, name);
    return e ? e->line : s->line;
}
