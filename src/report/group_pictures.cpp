#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/calibration_parts.hpp"
#include "report/competency_sections.hpp"
#include "report/competency_words.hpp"
#include "report/plots.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace competency;

constexpr std::size_t rows_a_picture = 36;  // what a page of paper holds beside a caption

std::string in_levels(double number) { return signed_decimal(number, 1); }

/// Items that anybody was shown, in the order of the instrument.
std::vector<std::size_t> shown_items(std::span<const Summary* const> raters) {
  std::vector<std::size_t> items;
  for (const Summary* rater : raters)
    for (const ItemSummary& one : rater->items) items.push_back(one.item);
  std::ranges::sort(items);
  const auto rest = std::ranges::unique(items);
  items.erase(rest.begin(), rest.end());
  return items;
}

const ItemSummary* item_of(const Summary& rater, std::size_t item) {
  const auto found = std::ranges::find(rater.items, item, &ItemSummary::item);
  return found == rater.items.end() ? nullptr : &*found;
}

agreement::Value error_of(const Summary& rater, std::size_t item) {
  const ItemSummary* one = item_of(rater, item);
  if (one == nullptr) return agreement::Reason("the item was not shown");
  return one->against_key.mean_signed.estimate;
}

/// What stands out most in the map, in words.
std::string map_words(std::span<const Summary* const> raters, const std::vector<std::size_t>& items,
                      const AnswerKey& key, double strong) {
  std::size_t known = 0, far = 0;
  const Summary* farthest = nullptr;
  std::size_t where = 0;
  double most = 0.0;
  for (const Summary* rater : raters)
    for (const std::size_t item : items) {
      const auto value = error_of(*rater, item);
      if (!value) continue;
      ++known;
      far += std::abs(*value) >= strong;
      if (std::abs(*value) <= std::abs(most)) continue;
      most = *value;
      farthest = rater;
      where = item;
    }
  if (farthest == nullptr) return "No rater is off the key on any item.";
  return fmt::format(
      "In {} of {} cells a rater is {:g} levels or more off the key on average; farthest is {} on item {}, "
      "{} "
      "levels.",
      count(far), count(known), strong, farthest->rater.text(), item_words(key.items[where]),
      signed_decimal(most, 1));
}

void set_map(PageData& page, std::span<const Summary* const> raters, const AnswerKey& key) {
  const auto items = shown_items(raters);
  set_bool(page, "has_map", !items.empty());
  if (items.empty()) return;
  PageData charts = page_list(), heads = page_list(), rows = page_list();
  const double strong = HeatMap{}.strong, slight = HeatMap{}.slight;
  const std::string finding = map_words(raters, items, key, strong);
  for (const auto& [from, to] : in_parts(raters.size(), rows_a_picture)) {
    HeatMap map;
    map.finding = finding;
    for (const std::size_t item : items) map.columns.push_back(key.items[item].id.text());
    for (std::size_t r = from; r < to; ++r) {
      map.rows.push_back(raters[r]->rater.text());
      auto& cells = map.cells.emplace_back();
      for (const std::size_t item : items) cells.push_back(error_of(*raters[r], item));
    }
    charts << PageData{heat_map(map)};
  }
  for (const std::size_t item : items) {
    PageData head;
    head.set("id", key.items[item].id.text());
    head.set("name", item_words(key.items[item]));
    heads << head;
  }
  for (const Summary* rater : raters) {
    PageData cells = page_list(), row;
    for (const std::size_t item : items) {
      const auto value = error_of(*rater, item);
      cells << PageData{
          value ? fmt::format("{} ({})", signed_decimal(*value), item_of(*rater, item)->against_key.n)
                : std::string(no_value)};
    }
    row.set("rater", rater->rater.text());
    row.set("cells", cells);
    rows << row;
  }
  page.set("map_charts", charts);
  page.set("map_caption",
           finding +
               fmt::format(" Bar at the upper edge: scores too high, at the lower: too low, from {:g} levels "
                           "on; bold from {:g}. Rows as in the table of raters.",
                           slight, strong));
  page.set("map_heads", heads);
  page.set("map_rows", rows);
}

void set_items(PageData& page, const GroupSummary& group, const AnswerKey& key) {
  Forest forest;
  std::vector<double> ends;
  std::string off;
  for (const GroupItem& one : group.items) {
    const auto& mean = one.against_key.mean_signed;
    const bool apart = mean.lower && mean.upper && (*mean.lower > 0.0 || *mean.upper < 0.0);
    forest.rows.push_back({item_words(key.items[one.item]), mean, apart});
    for (const auto* value : {&mean.estimate, &mean.lower, &mean.upper})
      if (*value) ends.push_back(**value);
    if (apart) off += (off.empty() ? "" : ", ") + key.items[one.item].id.text();
  }
  set_bool(page, "has_items_chart", !ends.empty());
  if (ends.empty()) return;
  forest.range = range_around(ends, in_levels, 0.0, 0.4);
  forest.marks = {0.0};
  forest.finding = off.empty() ? std::string("No item is scored clearly too high or too low by the group.")
                               : "Scored clearly too high or too low by the group: item " + off + ".";
  page.set("items_chart", forest_plot(forest));
  page.set("items_caption",
           forest.finding +
               " Mean of score less key, in levels, with its 95 % limits by case; filled: the "
               "limits leave out 0. With many items some do so by chance.");
}

}  // namespace

std::vector<std::pair<std::size_t, std::size_t>> in_parts(std::size_t rows, std::size_t most) {
  std::vector<std::pair<std::size_t, std::size_t>> parts;
  const std::size_t n = (rows + most - 1) / most;
  for (std::size_t i = 0; i < n; ++i) parts.emplace_back(i * rows / n, (i + 1) * rows / n);
  return parts;
}

void set_group_pictures(PageData& page, std::span<const Summary* const> raters, const GroupSummary& group,
                        const AnswerKey& key) {
  set_map(page, raters, key);
  set_items(page, group, key);
  set_off(page, group.off);
}

}  // namespace evenhand::report
