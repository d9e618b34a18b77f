/* Known containers of a station, resolved against a formula. */
#include <string.h>

#include "files/files.h"

bool containers_find(const struct station *st, const struct formula *formula, mass_pg empty[CAP_INGREDIENTS],
                     mass_pg off[CAP_INGREDIENTS], struct faults *f)
{
    bool good = true;
    memset(empty, 0, CAP_INGREDIENTS * sizeof *empty);
    memset(off, 0, CAP_INGREDIENTS * sizeof *off);
    for (unsigned i = 0; i < formula->ingredient_count; i++) {
        const struct ingredient *in = &formula->ingredients[i];
        const struct station_container *found = NULL;
        /* "" is no container's key, so an ingredient without one finds none */
        for (unsigned c = 0; c < st->container_count && !found; c++)
            if (!strcmp(st->containers[c].key, in->container))
                found = &st->containers[c];
        if (found) {
            empty[i] = found->empty;
            off[i] = found->off;
        } else if (in->container[0]) {
            good = false;
            faults_add(f, formula->id, 0,
                       "ingredient %s wants container %s, which station \"%s\" doesn't have; expected a [container %s] "
                       "section in the station file",
                       in->key, in->container, st->name, in->container);
        }
    }
    return good;
}
