/* Finding a shipped file by its bare name. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "files/files.h"
#include "files/nearest.h"

#define PLACES 4

/* A folder that holds our data files; path "" = not to be had. */
struct place {
    char path[FILE_PATH];
};

/* a/b into out; "" if it has no room. */
static bool join(const char *a, const char *b, char *out, size_t cap)
{
    size_t na = strlen(a);
    size_t nb = strlen(b);
    out[0] = '\0';
    if (!na || na + nb + 2 > cap)
        return false;
    memcpy(out, a, na);
    out[na] = '/';
    memcpy(out + na + 1, b, nb + 1);
    return true;
}

/* TARELINE_PROFILES goes before all; then a build folder (build/tareline beside profiles/), a copy that was moved with its
 * share folder, and the prefix it was built for. */
static void places(struct place at[PLACES])
{
    char self[FILE_PATH];
    memset(at, 0, PLACES * sizeof at[0]);
    const char *own = getenv("TARELINE_PROFILES");
    if (own && strlen(own) < FILE_PATH)
        memcpy(at[0].path, own, strlen(own) + 1);
    ssize_t n = readlink("/proc/self/exe", self, sizeof self - 1);
    self[n > 0 ? n : 0] = '\0';
    for (int up = 0; up < 2; up++) { /* the folder above the program's own */
        char *slash = strrchr(self, '/');
        if (slash)
            *slash = '\0';
    }
    join(self, "profiles", at[1].path, FILE_PATH);
    join(self, "share/tareline", at[2].path, FILE_PATH);
    join(TARELINE_PREFIX, "share/tareline", at[3].path, FILE_PATH);
}

/* Beside the stations lie the people files that they name. */
static bool is_of_kind(const char *folder, const char *file, const char *kind)
{
    char path[FILE_PATH + 320], line[200];
    bool found = strcmp(kind, "stations") != 0;
    snprintf(path, sizeof path, "%s/%s", folder, file);
    FILE *f = found ? NULL : fopen(path, "r");
    while (f && !found && fgets(line, sizeof line, f))
        found = !strncmp(line + strspn(line, " \t"), "[station]", 9);
    if (f)
        (void)fclose(f);
    return found;
}

/* Adds the shipped names of one folder to the list and offers each as the nearest. */
static void list_names(const char *folder, const char *kind, const char *wanted, char *list, size_t cap,
                       char near[CAP_NAME])
{
    struct dirent **found = NULL;
    int n = scandir(folder, &found, NULL, alphasort);
    struct nearest best = {0};
    for (int i = 0; i < n; i++) {
        char name[CAP_NAME];
        size_t len = strlen(found[i]->d_name);
        if (len > 4 && len < sizeof name + 4 && !strcmp(found[i]->d_name + len - 4, ".ini") &&
            is_of_kind(folder, found[i]->d_name, kind)) {
            snprintf(name, sizeof name, "%.*s", (int)(len - 4), found[i]->d_name);
            size_t used = strlen(list);
            snprintf(list + used, cap - used, "%s%s", used ? ", " : "", name);
            const char *before = best.word;
            nearest_offer(&best, wanted, name);
            if (best.word != before)
                snprintf(near, CAP_NAME, "%s", name);
            best.word = near[0] ? near : NULL;
        }
        free(found[i]);
    }
    free(found);
}

/* Somebody who typed a name wrong wants to see the names there are: those of the first place that holds any. */
static void not_shipped(const char *kind, const char *name, const struct place at[PLACES], struct faults *f)
{
    char list[700] = "";
    char near[CAP_NAME] = "";
    for (int i = 0; i < PLACES && !list[0]; i++) {
        char folder[FILE_PATH + 64];
        if (join(at[i].path, kind, folder, sizeof folder))
            list_names(folder, kind, name, list, sizeof list, near);
    }
    faults_add(f, name, 0, "no such file in %s%s%s; expected a path (with a / or .ini), or one of: %s", kind,
               near[0] ? "; nearest known name: " : "", near, list[0] ? list : "(no shipped files were found)");
}

bool file_find(const char *kind, const char *name, char path[FILE_PATH], struct faults *f)
{
    size_t n = strlen(name);
    /* no look at the disk: a name means the same wherever the command is given */
    bool is_path = strchr(name, '/') || (n > 4 && !strcmp(name + n - 4, ".ini"));
    if (!n || n >= FILE_PATH - 64) {
        faults_add(f, name, 0, n ? "the path is too long" : "no name of a file was given");
        return false;
    }
    if (is_path) {
        memcpy(path, name, n + 1);
        return true;
    }
    struct place at[PLACES];
    char file[FILE_PATH];
    char folder[FILE_PATH];
    snprintf(file, sizeof file, "%.*s.ini", FILE_PATH - 8, name);
    places(at);
    for (int i = 0; i < PLACES; i++)
        if (join(at[i].path, kind, folder, sizeof folder) && join(folder, file, path, FILE_PATH) && !access(path, F_OK))
            return true;
    path[0] = '\0';
    not_shipped(kind, name, at, f);
    return false;
}
