/* Stations, --scale, people, limits, containers and the finding of shipped files. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "files/files.h"
#include "files/nearest.h"

static struct file_text text;

static void read_shipped(const char *path)
{
    struct faults f = {0};
    setenv("TARELINE_PROFILES", "profiles", 1);
    assert_true(file_read(path, &text, &f));
}

static struct station smokehouse(void)
{
    struct station s;
    struct faults f = {0};
    read_shipped("profiles/stations/smokehouse.ini");
    assert_true(station_read(&text, &s, &f));
    return s;
}

static struct formula formula(const char *path)
{
    struct formula out;
    struct faults f = {0};
    read_shipped(path);
    assert_true(formula_read(&text, &out, &f));
    return out;
}

/* An argument that leaves out what the file has is judged with it: the least load and the bands rest on all three. */
static void an_argument_fits_the_rest_of_the_plate(void **state)
{
    static const struct {
        const char *arg, *says;
    } all[] = {{"bench=status-basis-kg@/dev/null", NULL},
               {"bench=status-basis-kg@/dev/null,division=1g", "its division is finer than its class allows"},
               {"bench=status-basis-kg@/dev/null,capacity=400g", "its division is more than a hundredth"},
               {"bench=status-basis-kg@/dev/null,capacity=60kg", "its division is finer than its class allows"},
               {"bench=status-basis-kg@/dev/null,capacity=60kg,division=10g", NULL},
               {"other=status-basis-kg@/dev/null,division=1g", NULL}}; /* of which the file says nothing */
    (void)state;
    for (unsigned k = 0; k < sizeof all / sizeof *all; k++) {
        struct station s = smokehouse();
        struct faults f = {0};
        bool good = station_argued_scales(&s, &all[k].arg, 1, &f);
        assert_int_equal(good, all[k].says == NULL);
        assert_true(good || (strstr(f.text, all[k].says) && strstr(f.text, all[k].arg)));
    }
}

static void the_smokehouse_is_read_whole(void **state)
{
    (void)state;
    struct station s = smokehouse();
    assert_string_equal(s.jurisdiction, "us");
    assert_string_equal(s.limits, "us");                                      /* a shipped one's name stays */
    assert_string_equal(s.people, "profiles/stations/smokehouse-people.ini"); /* a path is from the file's folder */
    assert_string_equal(s.lot_pattern, "A9999");
    assert_false(s.accept_auto);
    assert_int_equal(s.accept_ms, 1500);
    assert_int_equal(s.container_max, 1500 * PG_PER_G);
    assert_int_equal(s.reason_count, 3);
    assert_int_equal(s.scale_count, 2);
    assert_string_equal(s.scales[0].name, "bench");
    assert_int_equal(s.scales[0].capacity, 15 * PG_PER_KG);
    assert_int_equal(s.scales[0].division, 5 * PG_PER_G);
    assert_string_equal(s.scales[0].accuracy, "III");
    assert_string_equal(s.scales[1].profile, "asked-comma-g");
    assert_int_equal(s.scales[1].division, PG_PER_G / 100);
    assert_int_equal(s.container_count, 2);
}

struct argument {
    const char *arg, *name, *profile, *device, *accuracy;
    mass_pg capacity, division;
};
static const struct argument arguments[] = {
    {"bench=bare-kg@/dev/ttyUSB0", "bench", "bare-kg", "/dev/ttyUSB0", "", 0, 0},
    {"bench=bare-kg@/dev/ttyUSB0,capacity=15 kg,division=5 g,class=III", "bench", "bare-kg", "/dev/ttyUSB0", "III",
     15 * PG_PER_KG, 5 * PG_PER_G},
    {"bench=bare-kg@/dev/ttyUSB0,capacity=15kg,division=5g,class=III", "bench", "bare-kg", "/dev/ttyUSB0", "III",
     15 * PG_PER_KG, 5 * PG_PER_G},
    {" fine = ./my scale.ini @ tcp:scale.local:4001 , class = II , division = 0.01 g , capacity = 600 g ", "fine",
     "./my scale.ini", "tcp:scale.local:4001", "II", 600 * PG_PER_G, PG_PER_G / 100},
    {"a=p@replay:run,1,2@3=4.log,capacity=3 lb 4 oz", "a", "p", "replay:run,1,2@3=4.log", "", 52 * PG_PER_OZ, 0},
    {"a=p@modbus:/dev/ttyS0:7,class=I", "a", "p", "modbus:/dev/ttyS0:7", "I", 0, 0},
};

static void scale_arguments_are_taken_apart(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof arguments / sizeof *arguments; i++) {
        const struct argument *a = &arguments[i];
        struct station_scale s;
        struct faults f = {0};
        if (!scale_argument(a->arg, &s, &f))
            fail_msg("%s", f.text);
        assert_string_equal(s.name, a->name);
        assert_string_equal(s.profile, a->profile);
        assert_string_equal(s.device, a->device);
        assert_string_equal(s.accuracy, a->accuracy);
        assert_int_equal(s.capacity, a->capacity);
        assert_int_equal(s.division, a->division);
    }
}

static const char *const bad_arguments[][2] = {
    {"bench", "no \"=\" after the scale's name"},
    {"", "no \"=\" after the scale's name"},
    {"bench=bare-kg", "no \"@\" before the device"},
    {"=bare-kg@/dev/x", "the scale's name is not 1 to 31 of a-z, 0-9 and -"},
    {"Bench 1=bare-kg@/dev/x", "the scale's name is not 1 to 31 of a-z, 0-9 and -"},
    {"bench=@/dev/x", "no profile before the \"@\""},
    {"bench=bare-kg@ ,class=II", "no device after the \"@\", or too long a one"},
    {"bench=p@d,capacity=15", "no unit, or not a known one"},
    {"bench=p@d,capacity=-1 kg", "a mass that is not above zero"},
    {"bench=p@d,capacity=0 kg", "a mass that is not above zero"},
    {"bench=p@d,capacity=1 kg,capacity=2 kg", "capacity is given twice"},
    {"bench=p@d,class=II,class=II", "class is given twice"},
    {"bench=p@d,class=V", "not an accuracy class (I, II, III, IIII)"},
    {"bench=p@d,class=", "not an accuracy class (I, II, III, IIII)"},
    {"bench=p@d,capacity=1 kg,division=100 g", "more than a hundredth of the capacity"},
    {"bench=p@d,capacity=15 kg,division=1 g,class=III", "finer than its class allows for this capacity"},
};

static void wrong_scale_arguments_are_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof bad_arguments / sizeof *bad_arguments; i++) {
        struct station_scale s;
        struct faults f = {0};
        char expected[400];
        snprintf(expected, sizeof expected,
                 "--scale: %s: %s; expected NAME=PROFILE@DEVICE[,capacity=MASS,division=MASS,class=I|II|III|IIII]\n",
                 bad_arguments[i][0], bad_arguments[i][1]);
        assert_false(scale_argument(bad_arguments[i][0], &s, &f));
        assert_string_equal(f.text, expected);
    }
}

/* OIML R 76-1 (2006) table 3 and NIST Handbook 44 section 2.20 table 8 (reference: weighing-standards 2.1 and 1.3). */
static void least_loads_of_the_classes(void **state)
{
    (void)state;
    assert_int_equal(class_min_load("I", PG_PER_MG), 100 * PG_PER_MG);
    assert_int_equal(class_min_load("II", PG_PER_G / 100), PG_PER_G / 5);
    assert_int_equal(class_min_load("II", PG_PER_G / 20), PG_PER_G);
    assert_int_equal(class_min_load("II", PG_PER_G / 10), 5 * PG_PER_G);
    assert_int_equal(class_min_load("III", 5 * PG_PER_G), 100 * PG_PER_G);
    assert_int_equal(class_min_load("III", PG_PER_LB / 100), PG_PER_LB / 5); /* 30 lb x 0.01 lb: 0.20 lb (10.3) */
    assert_int_equal(class_min_load("IIII", 5 * PG_PER_G), 50 * PG_PER_G);
    assert_int_equal(class_min_load("", 5 * PG_PER_G), 0);
}

static void paths_are_from_the_files_folder(void **state)
{
    (void)state;
    struct station s;
    struct faults f = {0};
    memset(&text, 0, sizeof text);
    strcpy(text.path, "some/folder/s.ini");
    strcpy(text.text, "[station]\nname=S\nlimits=/etc/limits.ini\npeople=../p.ini\n"
                      "[scale a]\nprofile=mine.ini\ndevice=d\ncapacity=1 kg\ndivision=1 g\n"
                      "[scale b]\nprofile=shipped\ndevice=e\ncapacity=1 kg\ndivision=1 g\n");
    text.len = strlen(text.text);
    assert_true(station_read(&text, &s, &f));
    assert_string_equal(s.limits, "/etc/limits.ini");
    assert_string_equal(s.people, "some/folder/../p.ini");
    assert_string_equal(s.scales[0].profile, "some/folder/mine.ini");
    assert_string_equal(s.scales[1].profile, "shipped");
    strcpy(text.path, "s.ini"); /* in the present folder */
    assert_true(station_read(&text, &s, &f));
    assert_string_equal(s.scales[0].profile, "mine.ini");
}

static void lots_fit_their_pattern(void **state)
{
    (void)state;
    assert_true(lot_fits("A9999", "P1107"));
    assert_true(lot_fits("A9999", "p1107"));
    assert_true(lot_fits("99-AA/9", "25-XY/3"));
    assert_false(lot_fits("A9999", "P110"));
    assert_false(lot_fits("A9999", "P11070"));
    assert_false(lot_fits("A9999", "11107"));
    assert_false(lot_fits("A9999", ""));
    assert_false(lot_fits("99-9", "99.9"));
    assert_true(lot_fits("", "anything at all"));
    assert_false(lot_fits("", ""));
    assert_false(lot_fits("", "a lot code that is longer than there is room for"));
}

/* p1107 typed and P1107 scanned are one lot, to be found again as one. */
static void a_lot_has_one_spelling(void **state)
{
    (void)state;
    char typed[] = "p1107", mixed[] = "25-xY/3", free_form[] = "ab-12";
    lot_spell("A9999", typed);
    assert_string_equal(typed, "P1107");
    lot_spell("99-AA/9", mixed);
    assert_string_equal(mixed, "25-XY/3");
    lot_spell("", free_form); /* where no pattern says what its letters are, they stay */
    assert_string_equal(free_form, "ab-12");
}

static void people_are_found_by_initials_or_number(void **state)
{
    (void)state;
    struct people p;
    struct faults f = {0};
    read_shipped("profiles/stations/smokehouse-people.ini");
    assert_true(people_read(&text, &p, &f));
    assert_int_equal(p.count, 3);
    assert_string_equal(people_find(&p, "IF")->name, "Isla Fernbrook");
    assert_ptr_equal(people_find(&p, "if"), people_find(&p, "101"));
    assert_int_equal(people_find(&p, "IF")->rights, RIGHT_ACCEPT | RIGHT_TYPE | RIGHT_RELEASE);
    assert_int_equal(people_find(&p, "102")->rights, RIGHT_ACCEPT);
    assert_int_equal(people_find(&p, "MV")->rights, 0);
    assert_null(people_find(&p, "104"));
    assert_null(people_find(&p, ""));
}

/* 9 CFR 424.21(c): nitrite in chopped meat, 1/4 oz to 100 lb of the meat block (reference: meat-trade section 2). */
static void limits_are_resolved_against_the_formula(void **state)
{
    (void)state;
    struct station s = smokehouse();
    struct formula f = formula("profiles/formulas/smoked-bratwurst.ini");
    struct limit limits[CAP_INGREDIENTS];
    struct faults faults = {0};
    mass_pg most;
    assert_true(limits_load(&s, &f, &text, limits, &faults));
    assert_true(text.len > 0);
    for (unsigned i = 0; i < f.ingredient_count; i++)
        assert_int_equal(limits[i].share.den, f.ingredients[i].substance[0] ? 6400 : 0);
    /* reference case C2: at most 100.00 g of 6.25 % cure for a 40.0 kg block */
    for (unsigned i = 0; i < f.ingredient_count; i++)
        if (f.ingredients[i].substance[0]) {
            assert_int_equal(limits[i].base, BASE_MEAT);
            assert_int_equal(limit_mass(&f.ingredients[i], &limits[i], 40 * PG_PER_KG, 47 * PG_PER_KG, &most),
                             FAIL_NONE);
            assert_int_equal(most, 100 * PG_PER_G);
        }
}

static void a_limit_is_never_guessed(void **state)
{
    (void)state;
    struct station s = smokehouse();
    struct formula f = formula("profiles/formulas/smoked-bratwurst.ini");
    struct formula fresh = formula("profiles/formulas/fresh-breakfast.ini");
    struct limit limits[CAP_INGREDIENTS];
    struct faults faults = {0};
    struct station bare = s;
    bare.jurisdiction[0] = '\0';
    assert_false(limits_load(&bare, &f, &text, limits, &faults));
    assert_true(limits_load(&bare, &fresh, &text, limits, &faults)); /* nothing regulated: nothing to look up */
    bare = s;
    bare.limits[0] = '\0';
    assert_false(limits_load(&bare, &f, &text, limits, &faults));
    bare = s;
    strcpy(bare.jurisdiction, "elsewhere");
    assert_false(limits_load(&bare, &f, &text, limits, &faults));
    strcpy(f.product_class, "dried");
    assert_false(limits_load(&s, &f, &text, limits, &faults));
    assert_string_equal(faults.text,
                        "smoked-bratwurst: ingredient curing-salt is regulated (sodium-nitrite), but station "
                        "\"Highland smokehouse, mixing "
                        "room\" has no jurisdiction; expected \"jurisdiction\" in the station file\n"
                        "smoked-bratwurst: ingredient curing-salt is regulated (sodium-nitrite), but station "
                        "\"Highland smokehouse, mixing "
                        "room\" has no limits file; expected \"limits\" in the station file\n"
                        "profiles/limits/us.ini: no limit on sodium-nitrite for class comminuted in jurisdiction "
                        "elsewhere, but ingredient "
                        "curing-salt of formula smoked-bratwurst is regulated; expected a [limit] section for it\n"
                        "profiles/limits/us.ini: no limit on sodium-nitrite for class dried in jurisdiction us, but "
                        "ingredient curing-salt of "
                        "formula smoked-bratwurst is regulated; expected a [limit] section for it\n");
}

static void containers_are_resolved_or_named(void **state)
{
    (void)state;
    struct station s = smokehouse();
    struct formula f = formula("profiles/formulas/smoked-bratwurst.ini");
    struct faults faults = {0};
    mass_pg empty[CAP_INGREDIENTS];
    mass_pg off[CAP_INGREDIENTS];
    strcpy(f.ingredients[2].container, "steel-cup");
    assert_true(containers_find(&s, &f, empty, off, &faults));
    assert_int_equal(empty[2], 85 * PG_PER_G);
    assert_int_equal(off[2], 2 * PG_PER_G);
    assert_int_equal(empty[3], 0);
    strcpy(f.ingredients[3].container, "tin-cup");
    assert_false(containers_find(&s, &f, empty, off, &faults));
    assert_string_equal(faults.text,
                        "smoked-bratwurst: ingredient salt wants container tin-cup, which station \"Highland "
                        "smokehouse, mixing room\" doesn't have; expected a [container tin-cup] section in "
                        "the station file\n");
}

static void shipped_files_are_found_by_bare_name(void **state)
{
    (void)state;
    char path[FILE_PATH];
    struct faults f = {0};
    setenv("TARELINE_PROFILES", "profiles", 1);
    assert_true(file_find("formulas", "smoked-bratwurst", path, &f));
    assert_string_equal(path, "profiles/formulas/smoked-bratwurst.ini");
    assert_true(file_find("formulas", "mine.ini", path, &f)); /* a path, there or not */
    assert_string_equal(path, "mine.ini");
    assert_true(file_find("formulas", "./mine", path, &f));
    assert_int_equal(f.count, 0);
    assert_false(file_find("formulas", "smoked-bratwrust", path, &f));
    assert_string_equal(f.text,
                        "smoked-bratwrust: no such file in formulas; nearest known name: smoked-bratwurst; expected "
                        "a path (with a / or .ini), or one of: fresh-breakfast, kit-summer-sausage, "
                        "smoked-bratwurst\n");
    assert_false(file_find("formulas", "", path, &f));
}

static void slips_are_counted(void **state)
{
    (void)state;
    assert_int_equal(word_distance("amount", "amount"), 0);
    assert_int_equal(word_distance("amont", "amount"), 1);
    assert_int_equal(word_distance("amuont", "amount"), 1);
    assert_int_equal(word_distance("", "abc"), 3);
    assert_int_equal(word_distance("kitten", "sitting"), 3);
    struct nearest n = {0};
    nearest_offer(&n, "zz", "ab"); /* all letters wrong: not near */
    assert_null(n.word);
    nearest_offer(&n, "bnad", "bin");
    nearest_offer(&n, "bnad", "band");
    assert_string_equal(n.word, "band");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_smokehouse_is_read_whole),
        cmocka_unit_test(scale_arguments_are_taken_apart),
        cmocka_unit_test(wrong_scale_arguments_are_named),
        cmocka_unit_test(least_loads_of_the_classes),
        cmocka_unit_test(paths_are_from_the_files_folder),
        cmocka_unit_test(lots_fit_their_pattern),
        cmocka_unit_test(a_lot_has_one_spelling),
        cmocka_unit_test(people_are_found_by_initials_or_number),
        cmocka_unit_test(limits_are_resolved_against_the_formula),
        cmocka_unit_test(an_argument_fits_the_rest_of_the_plate),
        cmocka_unit_test(a_limit_is_never_guessed),
        cmocka_unit_test(containers_are_resolved_or_named),
        cmocka_unit_test(shipped_files_are_found_by_bare_name),
        cmocka_unit_test(slips_are_counted),
    };
    return cmocka_run_group_tests_name("files_station", tests, NULL, NULL);
}
