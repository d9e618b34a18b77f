/* Formula files into core's types: the shipped ones figure by figure, and the rules of order. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "core/scaling.h"
#include "files/files.h"

static struct file_text text;

static struct formula shipped(const char *path)
{
    struct formula f;
    struct faults faults = {0};
    assert_true(file_read(path, &text, &faults));
    if (!formula_read(&text, &f, &faults))
        fail_msg("%s", faults.text);
    return f;
}

/* A formula from lines of text; its faults must be none. */
static struct formula from_text(const char *lines)
{
    struct formula f;
    struct faults faults = {0};
    memset(&text, 0, sizeof text);
    strcpy(text.path, "test.ini");
    text.len = (size_t)snprintf(text.text, sizeof text.text, "%s", lines);
    if (!formula_read(&text, &f, &faults))
        fail_msg("%s", faults.text);
    return f;
}

static const struct ingredient *find(const struct formula *f, const char *key)
{
    for (unsigned i = 0; i < f->ingredient_count; i++)
        if (!strcmp(f->ingredients[i].key, key))
            return &f->ingredients[i];
    fail_msg("no ingredient %s", key);
    return NULL;
}

/* Keys in the order of weighing, with commas. */
static const char *weigh_order(const struct formula *f)
{
    static char out[CAP_INGREDIENTS * CAP_KEY];
    size_t n = 0;
    out[0] = '\0';
    for (unsigned place = 0; place < f->ingredient_count; place++)
        for (unsigned i = 0; i < f->ingredient_count; i++)
            if (f->ingredients[i].weigh_order == place)
                n += (size_t)snprintf(out + n, sizeof out - n, "%s%s", n ? " " : "", f->ingredients[i].key);
    return out;
}

static void smoked_bratwurst_is_read_whole(void **state)
{
    (void)state;
    struct formula f = shipped("profiles/formulas/smoked-bratwurst.ini");
    assert_string_equal(f.id, "smoked-bratwurst");
    assert_string_equal(f.product_class, "comminuted");
    assert_int_equal(f.lang_count, 2);
    assert_string_equal(f.lang[1], "de");
    assert_string_equal(f.name[1], "Rauchbratwurst mit Cranberry, Haselnuss und Bergkäse");
    assert_int_equal(f.basis, BASIS_WEIGHED);
    assert_int_equal(f.ingredient_count, 9);
    assert_string_equal(weigh_order(&f),
                        "pork-shoulder pork-belly curing-salt salt seasoning ice-water dried-cranberry "
                        "toasted-hazelnut mountain-cheese");

    const struct ingredient *pork = find(&f, "pork-shoulder");
    assert_true(pork->meat && pork->base == BASE_BLOCK && pork->share.num == 7 && pork->share.den == 10);
    assert_true(pork->ask_lot && pork->bin == 1 && pork->way == WAY_CUP);

    const struct ingredient *cure = find(&f, "curing-salt");
    assert_string_equal(cure->substance, "sodium-nitrite");
    assert_true(cure->share.num == 1 && cure->share.den == 400 && cure->base == BASE_MEAT);
    assert_true(cure->content.num == 1 && cure->content.den == 16);
    assert_true(cure->critical && cure->way != WAY_TUB && cure->bin == 9);
    assert_string_equal(cure->name[1], "Pökelsalz, 6,25 % Nitrit");

    assert_false(find(&f, "ice-water")->ask_lot);
    assert_int_equal(find(&f, "ice-water")->base, BASE_TOTAL);
    assert_true(find(&f, "seasoning")->share.num == 17 && find(&f, "seasoning")->share.den == 567);
    /* band: own on salt, the formula's elsewhere */
    assert_true(find(&f, "salt")->band.over.share.den == 100 && find(&f, "salt")->band.under.share.den == 100);
    assert_true(pork->band.over.share.num == 1 && pork->band.over.share.den == 50);
}

static void the_procedure_stands_in_the_order_of_the_file(void **state)
{
    (void)state;
    struct formula f = shipped("profiles/formulas/smoked-bratwurst.ini");
    static const struct {
        uint8_t kind;
        const char *key;
    } steps[] = {{STEP_ADD, "meat-and-cure"}, {STEP_INSTRUCTION, "first-mix"}, {STEP_ADD, "water-and-seasoning"},
                 {STEP_INSTRUCTION, "tacky"}, {STEP_CHECK, "mix-temperature"}, {STEP_ADD, "fruit-and-nut"},
                 {STEP_ADD, "cheese"}};
    assert_int_equal(f.step_count, 7);
    for (unsigned i = 0; i < 7; i++) {
        assert_int_equal(f.steps[i].kind, steps[i].kind);
        assert_string_equal(f.steps[i].key, steps[i].key);
    }
    assert_string_equal(f.steps[4].unit, "C");
    assert_int_equal(f.steps[4].low_milli, -2000);
    assert_int_equal(f.steps[4].high_milli, 4400);
    assert_int_equal(find(&f, "pork-belly")->add_step, 0);
    assert_int_equal(find(&f, "ice-water")->add_step, 2);
    assert_int_equal(find(&f, "mountain-cheese")->add_step, 6); /* the cheese goes in last */
}

/* 10 kg of meat; figures worked by hand from the file. */
static void targets_of_ten_kilograms(void **state)
{
    (void)state;
    struct formula f = shipped("profiles/formulas/smoked-bratwurst.ini");
    mass_pg t[CAP_INGREDIENTS];
    mass_pg total;
    assert_int_equal(scale_formula(&f, 10 * PG_PER_KG, t), FAIL_NONE);
    assert_int_equal(t[find(&f, "pork-shoulder") - f.ingredients], 7 * PG_PER_KG);
    assert_int_equal(t[find(&f, "curing-salt") - f.ingredients], 25 * PG_PER_G);
    assert_int_equal(t[find(&f, "salt") - f.ingredients], 150 * PG_PER_G);
    assert_int_equal(t[find(&f, "mountain-cheese") - f.ingredients], 500 * PG_PER_G);
    /* 9 CFR 319.160: smoked pork sausage, water at most 3 % of the total; the formula has 2.5 % */
    mass_pg water = t[find(&f, "ice-water") - f.ingredients];
    assert_int_equal(scale_total(&f, 10 * PG_PER_KG, t, &total), FAIL_NONE);
    assert_true(water - total / 40 <= 1 && total / 40 - water <= 1);
}

static void a_planned_kit_is_weighed_before_its_meat(void **state)
{
    (void)state;
    struct formula f = shipped("profiles/formulas/kit-summer-sausage.ini");
    assert_int_equal(f.basis, BASIS_PLANNED);
    assert_int_equal(f.planned_meat, 20 * PG_PER_KG);
    assert_string_equal(weigh_order(&f), "curing-salt salt dextrose mustard-seed beef-chuck pork-fat");
    assert_int_equal(find(&f, "salt")->way, WAY_TUB);
    assert_int_equal(find(&f, "mustard-seed")->way, WAY_BAG);
    assert_true(find(&f, "beef-chuck")->band.over.is_mass);
    /* meats that no addition lists go in first, in a step of their own */
    assert_string_equal(f.steps[0].key, "meat");
    assert_int_equal(f.steps[0].kind, STEP_ADD);
    assert_int_equal(find(&f, "beef-chuck")->add_step, 0);
    assert_int_equal(find(&f, "curing-salt")->add_step, 1);
    assert_int_equal(f.step_count, 4);
}

#define REST                                                                                                           \
    "[ingredient x]\nname=X\namount=1 % of meat\n[ingredient y]\nname=Y\namount=1 % of meat\nweigh=7\n"                \
    "[add all]\ningredients=x y\n"

static void meats_come_first_however_they_stand(void **state)
{
    (void)state;
    struct formula f = from_text("[formula]\nid=t\nname=T\nband=2 %\n" REST "[meat a]\nname=A\nshare=50 %\n"
                                 "[meat b]\nname=B\nshare=50 %\nweigh=3\n");
    assert_string_equal(weigh_order(&f), "b a y x"); /* numbered ones before the others */
    f = from_text("[formula]\nid=t\nname=T\nband=2 %\nbasis=planned\nmeat=1 kg\n[meat a]\nname=A\nshare=50 %\nweigh=2\n"
                  "[meat b]\nname=B\nshare=50 %\n" REST);
    assert_string_equal(weigh_order(&f), "a y x b");
}

static void bands_are_inherited_side_by_side(void **state)
{
    (void)state;
    struct formula f = from_text("[formula]\nid=t\nname=T\nband=2 %\nband.over=1 %\n[meat a]\nname=A\nshare=100 %\n"
                                 "band.over=5 g\n[ingredient x]\nname=X\namount=1 % of meat\nband=3 %\nband.under=0 g\n"
                                 "[ingredient y]\nname=Y\namount=1 % of meat\n[add all]\ningredients=x, y\n");
    const struct band_spec *a = &find(&f, "a")->band;
    const struct band_spec *x = &find(&f, "x")->band;
    const struct band_spec *y = &find(&f, "y")->band;
    assert_true(a->over.is_mass && a->over.mass == 5 * PG_PER_G && a->under.share.den == 50);
    assert_true(x->under.is_mass && x->under.mass == 0 && x->over.share.num == 3);
    assert_true(y->under.share.den == 50 && y->over.share.den == 100);
}

static void names_in_a_language_that_is_missing_are_empty(void **state)
{
    (void)state;
    struct formula f = from_text("[formula]\nid=t\nlanguages=de,en,fr\nname=T\nname.fr=F\nband=2 %\n"
                                 "[meat a]\nname=A\nshare=100 %\n");
    assert_int_equal(f.lang_count, 3);
    assert_string_equal(f.lang[0], "de");
    assert_string_equal(f.name[0], "T");
    assert_string_equal(f.name[1], "");
    assert_string_equal(f.name[2], "F");
    assert_int_equal(f.step_count, 1); /* only the meat's own addition */
}

/* A value is the rest of its line: comments have lines of their own, and a list may be long. */
static void a_value_is_the_whole_rest_of_its_line(void **state)
{
    (void)state;
    char file[4000] = "[formula]\nid=t\nname=A ; b # c = d : e\nband=2 %\n[meat a]\nname=A\nshare=100 %\n"
                      "[add all]\ningredients = a";
    memset(file + strlen(file), ' ', 800); /* the array is zeroed behind it */
    strcat(file, ", a-that-is-far-away\n[ingredient a-that-is-far-away]\nname=X\namount=1 % of meat\n");
    struct formula f = from_text(file);
    assert_string_equal(f.name[0], "A ; b # c = d : e");
    assert_int_equal(f.step_count, 1);
    assert_int_equal(find(&f, "a-that-is-far-away")->add_step, 0);
}

static void a_missing_side_of_a_check_has_no_limit(void **state)
{
    (void)state;
    struct formula f = from_text("[formula]\nid=t\nname=T\nband=2 %\n[meat a]\nname=A\nshare=100 %\n"
                                 "[check rest]\ntext=Minutes of rest\nunit=min\nlow=0.5\n");
    assert_int_equal(f.steps[1].low_milli, 500);
    assert_int_equal(f.steps[1].high_milli, CHECK_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(smoked_bratwurst_is_read_whole),
        cmocka_unit_test(the_procedure_stands_in_the_order_of_the_file),
        cmocka_unit_test(targets_of_ten_kilograms),
        cmocka_unit_test(a_planned_kit_is_weighed_before_its_meat),
        cmocka_unit_test(meats_come_first_however_they_stand),
        cmocka_unit_test(bands_are_inherited_side_by_side),
        cmocka_unit_test(names_in_a_language_that_is_missing_are_empty),
        cmocka_unit_test(a_value_is_the_whole_rest_of_its_line),
        cmocka_unit_test(a_missing_side_of_a_check_has_no_limit),
    };
    return cmocka_run_group_tests_name("files_formula", tests, NULL, NULL);
}
