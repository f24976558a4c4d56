#include <charconv>
#include <set>

#include "practice/examples.hpp"
#include "server/api/assigned.hpp"
#include "server/api/case_json.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

Reply<std::uint64_t> seed_in(const Request& request) {
  const auto found = request.query.find("seed");
  if (found == request.query.end()) return 0;
  const std::string& text = found->second;
  std::uint64_t seed = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seed);
  if (error != std::errc{} || end != text.data() + text.size())
    return refuse_field("seed", "`seed` is a whole number, 0 or more.");
  return seed;
}

class Learning {
 public:
  Learning(const instrument::Scoring& scoring, std::size_t item)
      : scoring_(scoring), place_(item), item_(scoring.instrument.items[item]) {}

  /// `checks`: see practice::examples_of
  Json json(const cases::Library& library, const std::set<SetId>& checks, std::uint64_t seed) const {
    const auto all = practice::examples_of(library, scoring_, place_, checks);
    Json object;
    object["item"] = item_.id;
    object["levels"] = Json::array();
    const auto chosen = practice::example_of_each_level(all, item_, seed);
    for (std::size_t level = 0; level < chosen.size(); ++level) {
      Json one{
          {"value", item_.levels[level].label}, {"says", item_.levels[level].says}, {"example", nullptr}};
      if (chosen[level]) one["example"] = example_json(*chosen[level]);
      object["levels"].push_back(std::move(one));
    }
    object["pairs"] = Json::array();
    for (const auto& pair : practice::pairs_of(scoring_, place_, all, seed))
      object["pairs"].push_back({{"a", half_json(pair.a)},
                                 {"b", half_json(pair.b)},
                                 {"higher", pair.higher > 0   ? "a"
                                            : pair.higher < 0 ? "b"
                                                              : "same"},
                                 {"fact", pair.fact},
                                 {"by", names_of(pair.by)}});
    return object;
  }

 private:
  Json trial_of(const practice::Example& one) const {
    return trial_json(one.of->items[place_].trials[one.trial], item_);
  }

  Json example_json(const practice::Example& one) const {
    Json object;
    object["case"] = one.of->id.text();
    object["child"] = child_json(one.of->child);
    object["trial"] = trial_of(one);
    object["why"] = practice::why(scoring_, place_, one);
    return object;
  }

  Json names_of(const std::vector<std::size_t>& axes) const {
    Json names = Json::array();
    for (const std::size_t axis : axes)
      names.push_back(scoring_.instrument.observations[item_.observe[axis]].id);
    return names;
  }

  /// A trial of a pair says whose it is.
  Json half_json(const practice::Example& one) const {
    Json object{{"case", one.of->id.text()}, {"child", child_json(one.of->child)}};
    object.update(trial_of(one));
    return object;
  }

  const instrument::Scoring& scoring_;
  std::size_t place_;
  const instrument::Item& item_;
};

Response get_learn(const Request& request, Visit& visit) {
  const auto seed = seed_in(request);
  if (!seed) return seed.error();
  const auto found = visit.library.instruments.find(request.param("instrument"));
  if (found == visit.library.instruments.end())
    return refusal(404, "not-found", "There is no such instrument.");
  const auto& scoring = *found->second.in_force;
  const auto item = instrument::item_named(scoring.instrument, request.param("item"));
  if (!item) return refusal(404, "not-found", "The instrument has no such item.");
  const auto checks = checks_to_come(visit.store, visit.who->rater, visit.now);
  return respond_tagged(request, Learning(scoring, *item).json(visit.library, checks, *seed).dump());
}

}  // namespace

std::vector<Route> learn_routes() {
  return {{.method = "GET", .pattern = "/api/learn/{instrument}/{item}", .handler = get_learn}};
}

}  // namespace evenhand::server
