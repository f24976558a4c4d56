#include "competency/draw_set.hpp"

#include <algorithm>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "competency/set_cover.hpp"
#include "competency/support.hpp"

namespace evenhand::competency {
namespace {

/// Cases whose keys are drawn with these weights of the levels 0 to 4; every fifth child is typical.
AnswerKey made(std::size_t cases, std::uint64_t seed, const std::vector<double>& weights) {
  auto key = test::blank_key(14);
  base::Random random(seed);
  for (std::size_t i = 0; i < cases; ++i) {
    std::string levels;
    for (int item = 0; item < 14; ++item) {
      double at = random.uniform();
      std::size_t level = 0;
      while (level + 1 < weights.size() && at >= weights[level]) at -= weights[level++];
      levels += static_cast<char>('0' + level);
    }
    const auto id = "case-" + std::to_string(1000 + i);
    test::add_case(key, id, levels, i % 4 == 0 ? 1 : 2);
    key.cases.at(CaseId(id)).typical = i % 5 == 0;
  }
  return key;
}

std::vector<CaseId> all_of(const AnswerKey& key) {
  std::vector<CaseId> ids;
  for (const auto& [id, one] : key.cases) ids.push_back(id);
  return ids;
}

bool same(const std::vector<cases::SetEntry>& a, const std::vector<cases::SetEntry>& b) {
  return std::ranges::equal(a, b, [](const auto& one, const auto& other) {
    return one.case_id == other.case_id && one.items == other.items;
  });
}

const std::vector<double> uneven{0.06, 0.12, 0.2, 0.22, 0.4};

}  // namespace

TEST_CASE(
    "[property] a drawn set has every case once, every item equally often, and only cases to draw from") {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    const auto key = made(40 + 5 * seed, seed, uneven);
    auto from = all_of(key);
    from.resize(from.size() - 10);
    const std::set<CaseId> allowed(from.begin(), from.end());
    for (const std::size_t a_case : {7U, 14U}) {
      const DrawPlan plan{.cases = 10 + seed, .items_per_case = a_case};
      const auto drawn = draw_set(key, from, plan, seed);
      REQUIRE(drawn);
      std::set<CaseId> once;
      std::map<ItemId, std::size_t> times;
      for (const auto& entry : *drawn) {
        CHECK(allowed.contains(entry.case_id));
        CHECK(once.insert(entry.case_id).second);
        CHECK(entry.items.size() == a_case);
        for (const auto& item : entry.items) ++times[item];
      }
      CHECK(drawn->size() == plan.cases);
      REQUIRE(times.size() == 14);
      std::size_t fewest = plan.cases, most = 0;
      for (const auto& [item, n] : times) {
        fewest = std::min(fewest, n);
        most = std::max(most, n);
      }
      CHECK(most - fewest <= 1);
    }
  }
}

TEST_CASE("[property] where a chance set misses the blueprint, the drawn one meets it") {
  const Standard standard;
  std::size_t by_chance = 0, drawn_well = 0, confirmed = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    const auto key = made(80, seed, uneven);
    const auto from = all_of(key);
    std::vector<cases::SetEntry> chance;
    for (std::size_t i = 0; i < 16; ++i) {
      cases::SetEntry entry{from[i], {}};
      for (std::size_t item = i % 2; item < 14; item += 2) entry.items.push_back(key.items[item].id);
      chance.push_back(entry);
    }
    by_chance += !cover_of(chance, key, standard).mix.off_blueprint();
    const auto drawn = draw_set(key, from, {.cases = 16}, seed);
    REQUIRE(drawn);
    const auto cover = cover_of(*drawn, key, standard);
    drawn_well += !cover.mix.off_blueprint();
    confirmed += cover.left_out.empty();
  }
  CHECK(by_chance == 0);
  CHECK(drawn_well == 12);
  // A quarter of the cases have too few second readers. They are left aside, but for a set that meets the
  // blueprint with one of them and whose every exchange would miss it.
  CHECK(confirmed >= 10);
}

TEST_CASE("[property] the seed decides: the same again is the same set, another seed another one") {
  const auto key = made(60, 3, uneven);
  const auto from = all_of(key);
  const auto first = draw_set(key, from, {}, 7).value();
  CHECK(same(first, draw_set(key, from, {}, 7).value()));
  CHECK_FALSE(same(first, draw_set(key, from, {}, 8).value()));
  // Two sets drawn one after the other, the second from what is left, are parallel and share no case.
  std::vector<CaseId> left;
  for (const auto& id : from)
    if (std::ranges::find(first, id, &cases::SetEntry::case_id) == first.end()) left.push_back(id);
  const auto second = draw_set(key, left, {}, 7).value();
  for (const auto& entry : second) CHECK(std::ranges::find(left, entry.case_id) != left.end());
  CHECK_FALSE(cover_of(second, key, Standard{}).mix.off_blueprint());
}

TEST_CASE("[edge] a set that cannot be drawn says why") {
  const auto key = made(15, 1, uneven);
  const auto from = all_of(key);
  CHECK(draw_set(key, from, {.cases = 16}, 1).error().message ==
        "there are 15 cases to draw from, and 16 are wanted");
  CHECK_FALSE(draw_set(key, from, {.cases = 0}, 1));
  CHECK(draw_set(key, from, {.cases = 4, .items_per_case = 5}, 1).error().code == Errc::invalid);
  CHECK_FALSE(draw_set(key, from, {.cases = 4, .items_per_case = 0}, 1));
  // A case named twice is one case, one that is not there is none.
  const std::vector<CaseId> two{from[0], from[0], CaseId("gone"), from[1]};
  CHECK(draw_set(key, two, {.cases = 2}, 1));
  CHECK_FALSE(draw_set(key, two, {.cases = 3}, 1));
}

TEST_CASE("items whose levels are unlike are dealt out all the same, without regard to levels") {
  auto key = made(6, 2, uneven);
  key.items[3].categories = {"no", "yes"};
  for (auto& [id, one] : key.cases) one.keys[3]->category = 1;
  const auto drawn = draw_set(key, all_of(key), {.cases = 4}, 1);
  REQUIRE(drawn);
  CHECK(drawn->size() == 4);
}

}  // namespace evenhand::competency
