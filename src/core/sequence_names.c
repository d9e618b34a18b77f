/* The protocol's words for the codes of sequence.h: all from the same X-lists as the enums. */
#include "core/sequence.h"

#define WORDS(function, type, list, count, width)                                                                      \
    const char *function(enum type code)                                                                               \
    {                                                                                                                  \
        static const char text[count][width] = {list(WORD)};                                                           \
        return (unsigned)code < (count) ? text[code] : "";                                                             \
    }

#define WORD(name, word) word,
WORDS(ask_text, ask, PROMPT_ASKS, ASK_COUNT, 12)
WORDS(notice_text, notice_code, NOTICE_CODES, NOTICE_COUNT, 12)
WORDS(refusal_text, refusal_code, REFUSAL_CODES, REFUSED_COUNT, 12)
#undef WORD

#define WORD(name, word, value) word,
WORDS(answer_text, answer_word, ANSWER_WORDS, ANSWER_COUNT, 8)
#undef WORD

#define WORD(name, word, value) value,
WORDS(answer_value_text, answer_word, ANSWER_WORDS, ANSWER_COUNT, 8)
#undef WORD

const char *confirm_what_text(enum confirm_what what)
{
    static const char text[][8] = {"", "weight", "basis", "second", "tub", "retry", "empty", "changed"};
    return (unsigned)what <= WHAT_CHANGED ? text[what] : "";
}

const char *weigh_way_text(enum weigh_way way)
{
    static const char text[][4] = {"cup", "tub", "bag"};
    return (unsigned)way <= WAY_BAG ? text[way] : "";
}
