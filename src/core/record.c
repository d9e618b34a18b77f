#include "core/record.h"

const char *record_kind_text(enum record_kind kind)
{
    static const char text[REC_COUNT][12] = {
#define X(name, word, says) word,
        RECORD_KINDS(X)
#undef X
    };
    return (unsigned)kind < REC_COUNT ? text[kind] : "";
}

const char *batch_state_text(enum batch_state state)
{
    static const char text[][10] = {"idle", "running", "paused", "held", "complete", "stopped", "aborted"};
    return (unsigned)state <= BATCH_ABORTED ? text[state] : "";
}

const char *verdict_text(enum verdict verdict)
{
    static const char text[][6] = {"in", "over", "under"};
    return (unsigned)verdict <= VERDICT_UNDER ? text[verdict] : "";
}

const char *manner_text(enum manner manner)
{
    static const char text[][6] = {"live", "typed", "label"};
    return (unsigned)manner <= MANNER_LABEL ? text[manner] : "";
}
