/* Any bytes as a verb of the pretend scale's script: what is taken is within its bounds, what is not has a sentence. */
#include <string.h>

#include "fuzz.h"
#include "plant/verb.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char line[VERB_LINE], why[VERB_WHY] = "";
    struct verb v;

    if (size >= sizeof line)
        size = sizeof line - 1;
    memcpy(line, data, size);
    line[size] = '\0';
    if (!verb_parse(line, &v, why)) {
        MUST(why[0] && strlen(why) < sizeof why);
        return 0;
    }
    MUST(v.kind <= VERB_QUIT && v.mass >= 0 && v.flow >= 0 && v.count <= 1000);
    MUST(v.kind == VERB_SILENT || v.kind == VERB_FAULT || v.kind == VERB_WAIT_SETTLED || v.seconds >= 0);
    MUST(v.seconds <= 86400 && v.hz >= 0 && v.hz <= 200);
    return 0;
}
