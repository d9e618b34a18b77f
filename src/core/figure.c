/* Digits, as text or packed, either end first, with their decimal sign and the sign that they carry themselves. */
#include "core/figure.h"

uint8_t figure_length(const struct profile *p, struct span rest)
{
    uint8_t blanks = span_blanks(rest), n = blanks;
    bool digits = false;

    for (; n < rest.len; n++) {
        char c = rest.at[n];
        bool before_digits = is_blank(c) || c == '+' || c == '-' || (c == '(' && p->minus == MINUS_BRACKETS);

        if (before_digits ? digits : !is_digit(c) && c != '.' && c != ',')
            break;
        digits = digits || is_digit(c);
    }
    if (digits && n < rest.len &&
        ((p->minus == MINUS_AFTER && rest.at[n] == '-') || (p->minus == MINUS_BRACKETS && rest.at[n] == ')')))
        n++;
    while (n > blanks && is_blank(rest.at[n - 1]))
        n--;
    return n;
}

/* The field's bytes as text, the highest digit first. Half a byte above nine becomes ':' to '?': no digit either. */
static bool unfold(const struct profile_field *field, struct span *s, char text[PROFILE_LINE_MAX])
{
    bool packed = field->digits & FIGURE_PACKED;
    uint8_t n = 0;

    if (s->len > (packed ? PROFILE_LINE_MAX / 2 : PROFILE_LINE_MAX))
        return false;
    for (uint8_t i = 0; i < s->len; i++) {
        uint8_t byte = (uint8_t)s->at[field->digits & FIGURE_REVERSED ? s->len - 1 - i : i];

        if (packed)
            text[n++] = (char)('0' + (byte >> 4));
        text[n++] = (char)(packed ? '0' + (byte & 15) : byte);
    }
    *s = (struct span){text, n};
    return true;
}

/* Takes the sign off, with the blanks on its either side. In its place behind the digits a blank may stand for plus. */
static char take_sign(const struct profile *p, struct span *s)
{
    char first, last;

    span_take(s, span_blanks(*s));
    if (s->len == 0)
        return ' ';
    first = s->at[0];
    last = s->at[s->len - 1];
    if (p->minus != MINUS_BEFORE && is_blank(last)) {
        s->len--;
        return ' ';
    }
    if (p->minus == MINUS_AFTER && (last == '-' || last == '+')) {
        s->len--;
        return last;
    }
    if (p->minus == MINUS_BRACKETS && first == '(' && last == ')' && s->len > 1) {
        span_take(s, 1);
        s->len--;
        span_take(s, span_blanks(*s));
        return '-';
    }
    if (p->minus != MINUS_BEFORE || (first != '+' && first != '-'))
        return ' ';
    span_take(s, 1);
    span_take(s, span_blanks(*s));
    return first;
}

bool figure_read(const struct profile *p, const struct profile_field *field, struct span s, struct figure *out)
{
    char text[PROFILE_LINE_MAX];
    uint64_t v = 0;
    uint8_t digits = 0, point = 0;

    if (field->digits && (!PROFILE_RAW || !unfold(field, &s, text)))
        return false;
    if (p->zeros && s.len > 0 && is_blank(s.at[0]))
        return false;
    out->sign = take_sign(p, &s);
    for (uint8_t i = 0; i < s.len; i++) {
        if (s.at[i] == p->decimal && p->implied == 0 && point == 0) {
            point = (uint8_t)(i + 1);
            continue;
        }
        if (!is_digit(s.at[i]) || v > INT64_MAX / 10 - 1)
            return false;
        v = v * 10 + (uint64_t)(s.at[i] - '0');
        digits++;
    }
    out->value = v;
    out->places = point ? (uint8_t)(s.len - point) : p->implied;
    return digits > 0;
}
