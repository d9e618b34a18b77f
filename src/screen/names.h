/* Names: what a say speaks of, looked up once for the sentences, the plain lines and the JSON lines. */
#ifndef SCREEN_NAMES_H
#define SCREEN_NAMES_H

#include "screen/say.h"

/* The scale in question, or NO_SCALE. */
uint8_t say_scale(const struct say *s);
/* Its NAME, or NULL. */
const char *say_scale_name(const struct say *s);
/* The ingredient in question, or NULL. */
const struct ingredient *say_ingredient(const struct say *s);
/* In the say's language; the first language where that one is missing. "" for NULL. */
const char *ingredient_name(const struct ingredient *in, uint8_t lang);
const char *step_text(const struct step *step, uint8_t lang);
/* How masses are shown: the unit and decimals of the scale in question. */
void say_unit(const struct say *s, enum mass_unit *unit, int *places);
/* The same from a scale's setup alone (NULL: no scale is meant): grams below divisions of 1 g, otherwise kilograms. */
void scale_unit(const struct scale_setup *scale, enum mass_unit *unit, int *places);
/* A discard that it takes must name one of its items. */
bool asks_item(const struct prompt *p);
/* An answer as it is listed: "yes", "lot CODE". */
const char *answer_list_word(const struct prompt *p, enum answer_word word, const char **value);
/* What a NOTED answers: the prompt's ask and the answer as text (NULL: none, or a number). */
const char *noted_ask(const struct say *s);
const char *noted_value(const struct say *s);
/* "settled", "moving" ...: enum settle_state for people and programs. */
const char *settle_text(uint8_t settled);

#endif
