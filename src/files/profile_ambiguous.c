/* What a profile leaves open: a line that could be read in two ways, a frame whose begin could not be found, words that are
 * missing. Refused here, because nothing later could tell. */
#include <string.h>

#include "core/check_sum.h"
#include "core/decode.h"
#include "files/profile_raw.h"

static bool is_figure(const struct profile_field *f)
{
    return f->kind == FIELD_WEIGHT || f->kind == FIELD_OUNCES || f->kind == FIELD_NUMBER;
}

static unsigned count_fields(const struct profile *p, enum field_kind kind)
{
    unsigned n = 0;
    for (unsigned i = 0; i < p->field_count; i++)
        n += p->fields[i].kind == kind;
    return n;
}

/* A word or a bit pattern that says it. */
static bool says(const struct profile *p, enum field_kind kind, uint8_t means)
{
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == kind && p->words[i].means == means)
            return true;
    for (unsigned i = 0; i < p->bit_count; i++)
        if (p->named[i].kind == kind && p->named[i].means == means)
            return true;
    return false;
}

static bool word_holds(const struct profile *p, enum field_kind kind, uint8_t least, char byte)
{
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == kind && p->words[i].means >= least && memchr(p->words[i].text, byte, p->words[i].len))
            return true;
    return false;
}

static bool bits_hold(const struct profile *p, unsigned number, uint8_t byte)
{
    for (unsigned i = 0; i < p->bit_count; i++) {
        const struct profile_bit *b = &p->named[i];
        if (b->byte == number && b->kind == FIELD_LITERAL && (byte & b->mask) != b->value)
            return false;
    }
    return true;
}

static bool figure_holds(const struct profile *p, const struct profile_field *f, char byte)
{
    if (f->digits & FIGURE_PACKED)
        return (uint8_t)byte >> 4 <= 9 && (byte & 15) <= 9;
    if (byte && strchr(p->minus == MINUS_BRACKETS ? "0123456789+- ()" : "0123456789+- ", byte))
        return true;
    return (byte == p->decimal && !p->implied) ||
           (f->kind == FIELD_WEIGHT && word_holds(p, FIELD_STATUS, READING_OVER, byte));
}

/* May this byte stand in the field of a weight's line? number: which "bits" byte it is. */
static bool can_hold(const struct profile *p, const struct profile_field *f, unsigned number, char byte)
{
    switch (f->kind) {
    case FIELD_LITERAL:
        return memchr(f->text, byte, f->len) != NULL;
    case FIELD_UNIT:
        return byte >= ' ' && byte <= '~';
    case FIELD_SIGN:
    case FIELD_STATUS:
    case FIELD_BASIS:
        return byte == ' ' || word_holds(p, (enum field_kind)f->kind, 0, byte) ||
               (f->kind == FIELD_SIGN && (byte == '+' || byte == '-'));
    case FIELD_WEIGHT:
    case FIELD_OUNCES:
    case FIELD_NUMBER:
        return figure_holds(p, f, byte);
    case FIELD_BLANKS:
        return byte == ' ' || byte == '\t';
    case FIELD_BITS:
        return bits_hold(p, number, (uint8_t)byte);
    case FIELD_CHECK:
        return p->check.raw || (byte && strchr("0123456789ABCDEFabcdef", byte));
    case FIELD_SKIP:
        return p->length > 0; /* of a text line, people know what it may be */
    default:
        return false;
    }
}

/* In how many fields it may stand; in literals as often as it does. */
static unsigned holders(const struct profile *p, char byte)
{
    unsigned n = 0, number = 0;
    for (unsigned i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];
        if (f->kind == FIELD_LITERAL)
            for (uint8_t k = 0; k < f->len; k++)
                n += f->text[k] == byte;
        else
            n += can_hold(p, f, number, byte);
        number += f->kind == FIELD_BITS;
    }
    return n;
}

static const char *end_within(const struct profile *p)
{
    if (p->length || !holders(p, p->end[0]) || (p->end_len > 1 && !holders(p, p->end[1])))
        return NULL;
    return "the bytes that end a line may stand within it too; expected another end, or \"length\" for a frame that is "
           "told "
           "by its length";
}

/* A frame told by its length needs a byte that tells where it begins: one that can't be anything else, or with it a check
 * sum. */
static const char *frame_begin(const struct profile *p)
{
    bool any = false;
    if (!p->length)
        return NULL;
    for (unsigned i = 0; i < p->field_count; i++)
        for (uint8_t k = 0; p->fields[i].kind == FIELD_LITERAL && k < p->fields[i].len; k++) {
            any = true;
            if (holders(p, p->fields[i].text[k]) == 1)
                return NULL;
        }
    for (uint8_t k = 0; k < p->end_len; k++) {
        any = true;
        if (holders(p, p->end[k]) == 0)
            return NULL;
    }
    if (any && count_fields(p, FIELD_CHECK))
        return NULL;
    return "nothing tells where a frame begins; expected a text or an end whose bytes stand nowhere else, or a text "
           "and a "
           "check sum";
}

static const char *frame_length(const struct profile *p)
{
    static char what[120];
    unsigned n = decode_line_length(p);
    if (!p->length)
        return NULL;
    if (!n)
        return "\"length\" needs a width on every field";
    if (n + p->end_len == p->length)
        return NULL;
    snprintf(what, sizeof what, "the fields take %u bytes with their end, but length = %u; expected both the same",
             n + p->end_len, p->length);
    return what;
}

static const char *check_place(const struct profile *p)
{
    int open = -1, close = -1, check = -1, bytes = 0;
    for (int i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];
        if (f->kind == FIELD_OPEN)
            open = i;
        if (f->kind == FIELD_CLOSE)
            close = i;
        if (f->kind == FIELD_CHECK)
            check = i;
    }
    if (check < 0)
        return p->check.method || open >= 0 || close >= 0
                   ? "there is a check sum, but the shape has no field \"check\"; expected one where it stands"
                   : NULL;
    if (!p->check.method)
        return "the shape has a check sum, but its method is not known; expected a [check] section";
    if (p->check.method == SUM_XOR && p->check.bits == 16)
        return "the bytes xored have 8 bits; expected bits = 8 or 7 in [check]";
    if (open > check || close > check || (close >= 0 && close < open))
        return "the check sum's ( and ) stand in the wrong order; expected ( ... ) before check";
    for (int i = open + 1; i < (close < 0 ? check : close); i++)
        bytes += p->fields[i].kind != FIELD_BLANKS || p->fields[i].width;
    return bytes ? NULL : "the check sum is over nothing; expected fields before it, or between its ( and )";
}

static const char *signs(const struct profile *p)
{
    bool field = count_fields(p, FIELD_SIGN) > 0, words = says(p, FIELD_SIGN, 0) || says(p, FIELD_SIGN, 1);
    bool bits = false;
    for (unsigned i = 0; i < p->bit_count; i++)
        bits = bits || p->named[i].kind == FIELD_SIGN;
    if ((field && bits) || ((field || bits) && p->minus != MINUS_BEFORE))
        return "the sign could stand in two places; expected one of a sign field, the minus bits, and \"minus\"";
    if (words && !field && !bits)
        return "there are sign words, but the shape has no sign field; expected one, or no [sign] section";
    if (field && words && !(says(p, FIELD_SIGN, 0) && says(p, FIELD_SIGN, 1)))
        return "of the sign words one is missing; expected both plus and minus";
    if (bits && !says(p, FIELD_SIGN, 1))
        return "there are bits for plus, but none for minus; expected them";
    for (unsigned i = 0; field && !words && i < p->field_count; i++)
        if (p->fields[i].kind == FIELD_SIGN && p->fields[i].width > 1)
            return "a sign without words of its own is one byte; expected sign, or a [sign] section";
    return NULL;
}

/* What can't be said is refused as a line: then it must be known that it never is said. */
static const char *missing(const struct profile *p)
{
    bool alone = p->sends == SENDS_SETTLED || p->sends == SENDS_KEY;
    if (!alone && says(p, FIELD_STATUS, READING_STABLE) != says(p, FIELD_STATUS, READING_MOVING))
        return "of stable and moving one is missing: lines that say it would be refused; expected both, or unknown";
    if (says(p, FIELD_BASIS, BASIS_GROSS) != says(p, FIELD_BASIS, BASIS_NET))
        return "of gross and net one is missing: lines that say it would be refused; expected both";
    if (count_fields(p, FIELD_OUNCES) && p->unit != UNIT_LB)
        return "ounces stand beside whole pounds; expected unit = lb in [scale]";
    return NULL;
}

/* Two patterns that one byte may fit, for two things. Of states the graver one counts. */
static bool collide(const struct profile_bit *a, const struct profile_bit *b)
{
    if (a->kind != b->kind || a->kind == FIELD_LITERAL || a->byte != b->byte || a->means == b->means)
        return false;
    if (a->kind == FIELD_STATUS && (a->means > READING_MOVING || b->means > READING_MOVING))
        return false;
    return ((a->value ^ b->value) & a->mask & b->mask) == 0;
}

static const char *bit_patterns(const struct profile *p)
{
    unsigned bytes = count_fields(p, FIELD_BITS), known = 0;
    for (unsigned i = 0; i < p->bit_count; i++) {
        if (p->named[i].byte >= bytes)
            return "[bits] has a pattern for a byte that the shape has not; expected as many fields \"bits\"";
        known |= 1u << p->named[i].byte;
        for (unsigned k = 0; k < i; k++)
            if (collide(&p->named[k], &p->named[i]))
                return "a byte could fit two patterns of [bits] that mean different things; expected patterns of which "
                       "one "
                       "fits";
    }
    if (known != (1u << bytes) - 1)
        return "nothing is known of a \"bits\" byte; expected a pattern for it in [bits], or skip:1";
    return NULL;
}

static bool starts_number(char c)
{
    return (c >= '0' && c <= '9') || c == '.' || c == ',';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Does some text or word with which the field may begin run on what stands before it? */
static bool runs_on(const struct profile *p, const struct profile_field *f, bool (*like)(char))
{
    if (f->kind == FIELD_LITERAL)
        return like(f->text[0]);
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == f->kind && p->words[i].len && like(p->words[i].text[0]))
            return true;
    return false;
}

static const char *neighbours(const struct profile *p)
{
    const struct profile_field *last = NULL;
    for (unsigned i = 0; i < p->field_count; i++) {
        const struct profile_field *f = &p->fields[i];
        if (f->kind == FIELD_OPEN || f->kind == FIELD_CLOSE)
            continue;
        bool open = last && !last->width && last->kind != FIELD_LITERAL;
        if (open && is_figure(last) && (is_figure(f) || f->kind == FIELD_CHECK || runs_on(p, f, starts_number)))
            return "two fields run together: where a figure without width ends can't be told; expected a width, or a "
                   "text or "
                   "blanks behind it";
        if (open && last->kind == FIELD_UNIT && (f->kind == FIELD_CHECK || runs_on(p, f, is_letter)))
            return "two fields run together: where a unit without width ends can't be told; expected a width, or a "
                   "text or "
                   "blanks behind it";
        last = f;
    }
    return NULL;
}

static bool all_digits(const struct profile_word *w)
{
    for (uint8_t i = 0; i < w->len; i++)
        if (!starts_number(w->text[i]) && w->text[i] != ' ')
            return false;
    return w->len > 0;
}

/* A state's word of digits may stand in the weight's place only if it fills it; a line's text must be no weight's line. */
static const char *words_like_weights(const struct profile *p)
{
    static char what[120];
    struct profile other = *p;
    bool in_status = count_fields(p, FIELD_STATUS) > 0;
    other.word_count = 0;
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind != FIELD_LINE)
            other.words[other.word_count++] = p->words[i];
    for (unsigned i = 0; i < p->word_count; i++) {
        const struct profile_word *w = &p->words[i];
        struct reading r;
        bool weight = w->kind == FIELD_LINE && decode_line(&other, w->text, w->len, &r) == DECODE_READING;
        for (unsigned k = 0; k < p->field_count && !in_status; k++)
            weight = weight || (w->kind == FIELD_STATUS && p->fields[k].kind == FIELD_WEIGHT && all_digits(w) &&
                                p->fields[k].width != w->len);
        if (!weight)
            continue;
        snprintf(what, sizeof what,
                 "\"%.*s\" could be a weight too; expected a text that is none, or one as wide as it", w->len, w->text);
        return what;
    }
    return NULL;
}

void profile_ambiguous(const struct ini *doc, const struct profile *p, const struct ini_section *line)
{
    const char *wrong = check_place(p);
    wrong = wrong ? wrong : signs(p);
    wrong = wrong ? wrong : missing(p);
    wrong = wrong ? wrong : bit_patterns(p);
    wrong = wrong ? wrong : neighbours(p);
    wrong = wrong ? wrong : frame_length(p);
    wrong = wrong ? wrong : frame_begin(p);
    wrong = wrong ? wrong : end_within(p);
    wrong = wrong ? wrong : words_like_weights(p);
    if (wrong)
        faults_add(doc->faults, doc->path, ini_line(doc, line, "shape"), "%s", wrong);
}
