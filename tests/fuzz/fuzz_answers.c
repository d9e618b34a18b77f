/* Any bytes as answer lines, on standard input and as arguments. */
#include <string.h>

#include "files/files.h"
#include "fuzz.h"
#include "screen/lines.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct screen screen;
    static struct station_scale scale;
    static struct faults faults;
    struct answer answer;
    char line[ANSWER_LINE], arg[300];
    uint32_t at;

    memset(&screen, 0, sizeof screen);
    screen.kind = SCREEN_JSON;
    for (size_t i = 0; i < size; i++) {
        if (!lines_byte(&screen, (char)data[i], line))
            continue;
        MUST(memchr(line, '\0', sizeof line));
        enum refusal_code code = answer_parse(line, &answer, &at);
        MUST(code == REFUSED_COUNT || code == REFUSED_VALUE || code == REFUSED_WORD);
        MUST(memchr(answer.text, '\0', sizeof answer.text) && answer.word < ANSWER_COUNT);
    }
    if (size < sizeof arg) {
        memcpy(arg, data, size);
        arg[size] = '\0';
        memset(&faults, 0, sizeof faults);
        MUST(scale_argument(arg, &scale, &faults) == (faults.count == 0));
    }
    return 0;
}
