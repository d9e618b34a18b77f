/* The batch sheet as one JSON object. Masses in grams under _g, shares under _pct and _ppm. */
#include "core/json.h"
#include "station/plan.h"

static void put_share(struct json *j, const char *key, mass_pg part, mass_pg whole)
{
    int64_t micro = 0;
    json_key(j, key);
    if (share_micropercent(part, whole, &micro))
        json_null(j);
    else
        json_decimal(j, micro, 6);
}

static void put_limit(struct json *j, const struct plan *p, uint8_t i)
{
    struct plan_dose d;
    json_key(j, "limit");
    if (!p->has_limits || !plan_dose(p, i, &d)) {
        json_null(j);
        return;
    }
    json_open(j, '{');
    json_put_string(j, "substance", p->limits[i].substance);
    json_put_string(j, "of", p->limits[i].base == BASE_TOTAL ? "total" : "meat");
    json_key(j, "planned_ppm");
    json_decimal(j, d.planned_hppm, 2);
    json_key(j, "max_ppm");
    json_decimal(j, d.most_hppm, 2);
    json_put_grams(j, "max_g", d.most);
    json_put_bool(j, "within", d.within);
    json_put_string(j, "source", p->limits[i].source);
    json_close(j, '}');
}

static void put_band(struct json *j, const struct plan *p, const struct item *it)
{
    static const char *const fits[] = {
        [FIT_GOOD] = "good", [FIT_HEAVY] = "heavy", [FIT_LIGHT] = "light", [FIT_COARSE] = "coarse"};
    json_put_grams(j, "target_g", it->has_band ? it->target : p->exact[it->ingredient]);
    json_put_grams_if(j, "low_g", plan_banded(p, it), it->low);
    json_put_grams_if(j, "high_g", plan_banded(p, it), it->high);
    json_put_string(j, "scale", p->has_scales ? p->scales[it->scale].name : NULL);
    json_put_string(j, "fit", p->has_scales ? fits[plan_fit(p, it)] : NULL);
}

static void put_line(struct json *j, const struct plan *p, const struct item *it)
{
    const struct ingredient *in = &p->formula.ingredients[it->ingredient];
    json_open(j, '{');
    json_put_int(j, "item", it->id);
    json_put_id(j, "parent", it->parent);
    json_put_string(j, "ingredient", in->key);
    json_put_string(j, "name", in->name[p->lang][0] ? in->name[p->lang] : in->name[0]);
    json_put_bool(j, "meat", in->meat);
    json_put_id(j, "bin", in->bin);
    json_put_string(j, "way", weigh_way_text((enum weigh_way)in->way));
    json_put_bool(j, "regulated", in->substance[0] != '\0');
    json_put_grams(j, "exact_g", p->exact[it->ingredient]);
    put_band(j, p, it);
    put_share(j, "of_meat_pct", p->exact[it->ingredient], p->meat);
    put_share(j, "of_total_pct", p->exact[it->ingredient], p->total);
    put_limit(j, p, it->ingredient);
    json_close(j, '}');
}

static void put_step(struct json *j, const struct plan *p, uint8_t k)
{
    static const char *const kinds[] = {[STEP_ADD] = "add", [STEP_INSTRUCTION] = "instruction", [STEP_CHECK] = "check"};
    const struct step *st = &p->formula.steps[k];
    json_open(j, '{');
    json_put_string(j, "step", st->key);
    json_put_string(j, "kind", kinds[st->kind]);
    json_put_string(j, "text", st->text[p->lang][0] ? st->text[p->lang] : st->text[0]);
    if (st->kind == STEP_ADD) {
        json_key(j, "ingredients");
        json_open(j, '[');
        for (uint8_t i = 0; i < p->formula.ingredient_count; i++)
            if (p->formula.ingredients[i].add_step == k)
                json_string(j, p->formula.ingredients[i].key);
        json_close(j, ']');
    }
    if (st->kind == STEP_CHECK) {
        json_put_string(j, "unit", st->unit);
        json_put_milli(j, "low", st->low_milli);
        json_put_milli(j, "high", st->high_milli);
    }
    json_close(j, '}');
}

bool plan_json(const struct plan *p, char *buf, size_t cap)
{
    struct json j;
    const struct item *it;
    json_begin(&j, buf, cap);
    json_open(&j, '{');
    json_put_string(&j, "formula", p->formula.id);
    json_put_string(&j, "name", p->formula.name[p->lang][0] ? p->formula.name[p->lang] : p->formula.name[0]);
    json_put_string(&j, "basis", p->setup.basis == BASIS_PLANNED ? "planned" : "declared");
    json_put_grams(&j, "meat_g", p->meat);
    json_put_grams(&j, "total_g", p->total);
    json_put_bool(&j, "limits_known", p->has_limits);
    json_key(&j, "lines");
    json_open(&j, '[');
    for (unsigned k = 0; (it = plan_line(p, k)) != NULL; k++)
        put_line(&j, p, it);
    json_close(&j, ']');
    json_key(&j, "steps");
    json_open(&j, '[');
    for (uint8_t k = 0; k < p->formula.step_count; k++)
        put_step(&j, p, k);
    json_close(&j, ']');
    json_close(&j, '}');
    return json_finish(&j);
}
