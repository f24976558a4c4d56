#include "scores/resolve.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <unordered_map>
#include <utility>

#include <fmt/core.h>
#include <fmt/format.h>

#include "base/nearest.hpp"
#include "document/fault.hpp"
#include "document/quote.hpp"
#include "scores/place.hpp"

namespace evenhand::scores {
namespace {

constexpr std::size_t most_cells = 20'000'000;
constexpr std::int64_t no_time = std::numeric_limits<std::int64_t>::max();

template <class T>
std::string not_in_table(std::string_view what, std::string_view name, const std::vector<T>& known) {
  std::vector<std::string> names;
  for (const T& each : known) names.push_back(each.text());
  if (const auto meant = base::nearest(name, names))
    return fmt::format("no {} {} in the scores; did you mean `{}`?", what, document::quote(name), *meant);
  constexpr std::size_t enough = 10;
  const bool more = names.size() > enough;
  if (more) names.resize(enough);
  return fmt::format("no {} {} in the scores; there {}", what, document::quote(name),
                     names.empty() ? "is none at all"
                                   : fmt::format("are {}{}", fmt::join(names, ", "), more ? ", ..." : ""));
}

template <class T>
std::uint32_t place_of(const std::vector<T>& names, const T& name) {
  const auto found = std::find(names.begin(), names.end(), name);
  return found == names.end() ? nothing : static_cast<std::uint32_t>(found - names.begin());
}

Result<std::uint32_t> find_key(const ScoreTable& table, const std::optional<RaterId>& wanted) {
  const std::uint32_t key = place_of(table.raters(), wanted.value_or(RaterId("key")));
  if (wanted && key == nothing)
    return fail(Errc::not_found, "{}", not_in_table("rater", wanted->text(), table.raters()));
  return key;
}

// The rounds to answer for, in order of first appearance; `nothing` stands for rows without a round.
std::vector<std::uint32_t> rounds_seen(const ScoreTable& table, std::uint32_t key) {
  if (table.rounds().empty()) return {nothing};
  std::vector<std::uint32_t> order;
  std::vector<bool> seen(table.rounds().size() + 1);
  for (std::size_t row = 0; row < table.size(); ++row) {
    const std::uint32_t round = table.round(row);
    const std::size_t slot = round == nothing ? table.rounds().size() : round;
    if (seen[slot] || (round == nothing && table.rater(row) == key)) continue;
    seen[slot] = true;
    order.push_back(round);
  }
  if (order.empty()) order.push_back(nothing);
  return order;
}

Result<std::vector<std::uint32_t>> find_rounds(const ScoreTable& table, const ResolveOptions& options,
                                               std::uint32_t key) {
  if (options.rounds.empty()) return rounds_seen(table, key);
  std::vector<std::uint32_t> order;
  for (const RoundId& round : options.rounds) {
    order.push_back(place_of(table.rounds(), round));
    if (order.back() == nothing)
      return fail(Errc::not_found, "{}", not_in_table("round", round.text(), table.rounds()));
  }
  return order;
}

// Whether the row belongs to the round, as its own or as a key that stands in every round.
enum class Belongs : std::uint8_t { no, yes, as_standing_key };

Belongs belongs(const ScoreTable& table, std::size_t row, std::uint32_t round, std::uint32_t key) {
  if (table.round(row) == round) return Belongs::yes;
  if (table.round(row) == nothing && table.rater(row) == key) return Belongs::as_standing_key;
  return Belongs::no;
}

// --- categories ---

struct Categories {
  std::vector<std::string> texts;
  std::vector<double> numbers;
  Level level = Level::nominal;
  std::vector<std::int32_t> of_table;  ///< category of the table -> place in texts
};

std::vector<double> numbers_of(const std::vector<std::string>& texts) {
  std::vector<double> numbers;
  for (const auto& text : texts) {
    const auto number = number_of(text);
    if (!number) return {};
    numbers.push_back(*number);
  }
  return numbers;
}

std::int32_t place_of_category(const std::vector<std::string>& texts, std::string_view category) {
  for (std::size_t i = 0; i < texts.size(); ++i)
    if (texts[i] == category) return static_cast<std::int32_t>(i);
  const auto number = number_of(category);
  for (std::size_t i = 0; number && i < texts.size(); ++i)
    if (number_of(texts[i]) == number) return static_cast<std::int32_t>(i);
  return Cell::no_score;
}

Result<std::vector<std::string>> given_categories(const std::vector<std::string>& given) {
  std::vector<std::string> texts;
  for (const std::string& each : given) {
    const std::string_view text = trimmed(each);
    if (const auto flaw = flaw_of_category(text))
      return fail(Errc::invalid, "category {} of those given: {}; {}", texts.size() + 1, flaw->what,
                  flaw->mend);
    if (place_of_category(texts, text) != Cell::no_score)
      return fail(Errc::invalid, "category `{}` is given twice; keep one of the two", text);
    texts.emplace_back(text);
  }
  return texts;
}

std::vector<std::string> seen_categories(const ScoreTable& table, const std::vector<std::uint32_t>& rounds,
                                         std::uint32_t key) {
  std::vector<bool> asked(table.rounds().size() + 1);
  for (const std::uint32_t round : rounds) asked[round == nothing ? table.rounds().size() : round] = true;
  std::vector<bool> seen(table.categories().size());
  for (std::size_t row = 0; row < table.size(); ++row) {
    const std::uint32_t round = table.round(row);
    const bool counts = round == nothing ? asked.back() || table.rater(row) == key : asked[round];
    if (counts && table.category(row) != nothing) seen[table.category(row)] = true;
  }
  std::vector<std::string> texts;
  for (std::size_t i = 0; i < seen.size(); ++i)
    if (seen[i]) texts.push_back(table.categories()[i]);
  const auto numbers = numbers_of(texts);
  if (numbers.empty())
    std::sort(texts.begin(), texts.end());
  else
    std::sort(texts.begin(), texts.end(),
              [](const auto& a, const auto& b) { return *number_of(a) < *number_of(b); });
  return texts;
}

Level level_of(const std::vector<double>& numbers) {
  if (numbers.empty()) return Level::nominal;
  const auto whole = [](double number) { return number == std::floor(number); };
  return std::all_of(numbers.begin(), numbers.end(), whole) ? Level::ordinal : Level::interval;
}

std::optional<Error> scores_outside(const ScoreTable& table, const Categories& categories,
                                    const std::vector<std::uint32_t>& rounds, std::uint32_t key) {
  if (std::ranges::find(categories.of_table, Cell::no_score) == categories.of_table.end())
    return std::nullopt;
  document::Faults faults;
  for (std::size_t row = 0; row < table.size(); ++row) {
    if (table.category(row) == nothing || categories.of_table[table.category(row)] != Cell::no_score)
      continue;
    const auto in_round = [&](auto round) { return belongs(table, row, round, key) != Belongs::no; };
    if (std::none_of(rounds.begin(), rounds.end(), in_round)) continue;
    const std::uint32_t line = table.line(row);
    const std::string who = line != 0 ? "" : fmt::format("score {}: ", row + 1);
    faults.add(
        {table.source(), static_cast<int>(line), 0},
        fmt::format("{}score `{}` is none of the categories", who, table.categories()[table.category(row)]),
        fmt::format("they are {}", fmt::join(categories.texts, ", ")));
  }
  if (faults.empty()) return std::nullopt;
  return faults.error();
}

Result<Categories> find_categories(const ScoreTable& table, const ResolveOptions& options,
                                   const std::vector<std::uint32_t>& rounds, std::uint32_t key) {
  Categories categories;
  if (options.categories.empty()) {
    categories.texts = seen_categories(table, rounds, key);
  } else {
    auto given = given_categories(options.categories);
    if (!given) return tl::unexpected(std::move(given.error()));
    categories.texts = std::move(*given);
  }
  categories.numbers = numbers_of(categories.texts);
  categories.level = options.level.value_or(level_of(categories.numbers));
  if (categories.level == Level::interval && categories.numbers.empty() && !categories.texts.empty())
    return fail(Errc::invalid,
                "interval level needs numbers, but there are words among the categories ({}); choose "
                "nominal or ordinal",
                fmt::join(categories.texts, ", "));
  std::unordered_map<std::string_view, std::int32_t> by_text;
  for (std::size_t i = 0; i < categories.texts.size(); ++i)
    by_text.emplace(categories.texts[i], static_cast<std::int32_t>(i));
  for (const std::string& category : table.categories()) {
    const auto found = by_text.find(category);
    const bool by_value = found == by_text.end() && !options.categories.empty();
    categories.of_table.push_back(found != by_text.end() ? found->second
                                  : by_value             ? place_of_category(categories.texts, category)
                                                         : Cell::no_score);
  }
  if (!options.categories.empty())
    if (auto error = scores_outside(table, categories, rounds, key)) return tl::unexpected(std::move(*error));
  return categories;
}

// --- sittings ---

// One sitting of a rater.
struct Sat {
  std::uint32_t rater;
  std::uint32_t sitting;
  std::size_t first_row;
  std::int64_t earliest = no_time;
  bool standing_key = false;
};

class RoundResolver {
 public:
  RoundResolver(const ScoreTable& table, const ResolveOptions& options, const Categories& categories,
                std::uint32_t round, std::uint32_t key)
      : table_(table), options_(options), categories_(categories), round_(round), key_(key) {}

  Result<Resolved> run() {
    const bool plain = every_row_counts();
    if (plain) {
      take_names();
    } else {
      collect_rows();
      collect_sittings();
      number_names();
    }
    out_.round = round_ == nothing ? RoundId{} : table_.rounds()[round_];
    out_.categories = categories_.texts;
    out_.numbers = categories_.numbers;
    out_.level = categories_.level;
    const double cells = static_cast<double>(out_.raters.size()) * static_cast<double>(out_.cases.size()) *
                         static_cast<double>(out_.items.size());
    if (cells > static_cast<double>(most_cells))
      return fail(Errc::invalid,
                  "{} raters, {} cases and {} items make more than {} cells; resolve fewer at a time",
                  out_.raters.size(), out_.cases.size(), out_.items.size(), most_cells);
    if (plain) {
      fill_plain();
    } else {
      choose();
      fill();
    }
    count();
    return std::move(out_);
  }

 private:
  /// Without rounds, sittings and trials no two rows are about the same cell, so there is nothing to choose,
  /// and the table's own count of names is the round's.
  bool every_row_counts() const {
    return table_.rounds().empty() && table_.sittings().empty() && !table_.has_trials();
  }

  void take_names() {
    for (const RaterId& rater : table_.raters()) out_.raters.push_back({rater, {}});
    out_.cases = table_.cases();
    out_.items = table_.items();
    if (out_.items.empty()) out_.items.emplace_back();
    if (key_ != nothing) out_.key = key_;
  }

  void fill_plain() {
    const std::size_t cases = out_.cases.size(), plane = out_.raters.size() * cases;
    out_.cells.assign(out_.items.size() * plane, Cell{});
    std::size_t row = 0;
    table_.each_block(0, table_.size(), [&](const ScoreTable::Block& rows, std::size_t n) {
      for (std::size_t i = 0; i < n; ++i, ++row) {
        const std::size_t item = rows.item[i] == nothing ? 0 : rows.item[i];
        const std::int32_t category =
            rows.category[i] == nothing ? Cell::no_score : categories_.of_table[rows.category[i]];
        out_.cells[item * plane + rows.rater[i] * cases + rows.scored_case[i]] = {category,
                                                                                  table_.status(row), true};
      }
    });
  }

  // Cases come from the round's own rows: a standing key may know cases that nobody scored here.
  void collect_rows() {
    every_row_ = table_.rounds().empty();
    size_ = table_.size();
    if (every_row_) return;
    std::vector<bool> here(table_.cases().size());
    size_ = 0;
    for (std::size_t row = 0; row < table_.size(); ++row) {
      if (belongs(table_, row, round_, key_) != Belongs::yes) continue;
      here[table_.scored_case(row)] = true;
      ++size_;
    }
    every_row_ = size_ == table_.size();
    if (every_row_) return;
    for (std::size_t row = 0; row < table_.size(); ++row) {
      const Belongs how = belongs(table_, row, round_, key_);
      if (how == Belongs::yes || (how == Belongs::as_standing_key && here[table_.scored_case(row)]))
        rows_.push_back(static_cast<std::uint32_t>(row));
    }
    size_ = rows_.size();
  }

  /// The i-th row of the round.
  std::size_t row_at(std::size_t i) const { return every_row_ ? i : rows_[i]; }

  void collect_sittings() {
    std::unordered_map<std::uint64_t, std::uint32_t> known;
    std::uint64_t last = std::numeric_limits<std::uint64_t>::max();
    std::uint32_t place = 0;
    for (std::size_t i = 0; i < size_; ++i) {
      const std::size_t row = row_at(i);
      const bool standing = table_.round(row) != round_;
      const std::uint64_t pair = (static_cast<std::uint64_t>(table_.rater(row)) << 32) | table_.sitting(row);
      if (pair != last || standing) {
        // A standing key's sitting is another than the round's own of the same name; no rater's
        // number is the complement of another's.
        const auto [found, first] =
            known.try_emplace(standing ? ~pair : pair, static_cast<std::uint32_t>(sat_.size()));
        place = found->second;
        if (first) sat_.push_back({table_.rater(row), table_.sitting(row), row, no_time, standing});
      }
      last = standing ? std::numeric_limits<std::uint64_t>::max() : pair;
      if (const auto at = table_.has_times() ? table_.at(row) : std::nullopt)
        sat_[place].earliest = std::min(sat_[place].earliest, std::int64_t{at->time_since_epoch().count()});
      sat_of_row_.push_back(place);
    }
    timed_.assign(table_.raters().size(), true);
    for (const Sat& sat : sat_)
      if (sat.earliest == no_time) timed_[sat.rater] = false;
  }

  bool each_stands_alone(const Sat& sat) const {
    return options_.sittings == Sittings::all && sat.rater != key_;
  }

  // Rows of one table name things 0, 1, ...; a round has its own count.
  void number_names() {
    std::vector<std::uint32_t> rater(table_.raters().size(), nothing);
    column_.assign(sat_.size(), nothing);
    case_.assign(table_.cases().size(), nothing);
    item_.assign(std::max<std::size_t>(table_.items().size(), 1), nothing);
    for (std::size_t i = 0; i < size_; ++i) {
      const std::size_t row = row_at(i);
      const Sat& sat = sat_[sat_of_row_[i]];
      std::uint32_t& column = each_stands_alone(sat) ? column_[sat_of_row_[i]] : rater[sat.rater];
      if (column == nothing) {
        column = static_cast<std::uint32_t>(out_.raters.size());
        if (sat.rater == key_) out_.key = column;
        const bool labeled = each_stands_alone(sat) && sat.sitting != nothing;
        out_.raters.push_back(
            {table_.raters()[sat.rater], labeled ? table_.sittings()[sat.sitting] : SittingId{}});
      }
      column_[sat_of_row_[i]] = column;
      number(case_[table_.scored_case(row)], out_.cases,
             [&] { return table_.cases()[table_.scored_case(row)]; });
      number(item_[item_place(row)], out_.items,
             [&] { return table_.item(row) == nothing ? ItemId{} : table_.items()[table_.item(row)]; });
    }
  }

  std::size_t item_place(std::size_t row) const { return table_.item(row) == nothing ? 0 : table_.item(row); }

  template <class T, class Name>
  static void number(std::uint32_t& place, std::vector<T>& names, Name name) {
    if (place != nothing) return;
    place = static_cast<std::uint32_t>(names.size());
    names.push_back(name());
  }

  // Whether sitting a of a rater counts rather than sitting b of the same rater.
  bool counts_before(const Sat& a, const Sat& b) const {
    if (a.standing_key != b.standing_key) return b.standing_key;
    const bool by_time = timed_[a.rater] && a.earliest != b.earliest;
    const bool earlier = by_time ? a.earliest < b.earliest : a.first_row < b.first_row;
    return earlier != (options_.sittings == Sittings::last);
  }

  void choose() {
    counts_.assign(out_.raters.size() * out_.cases.size(), nothing);
    for (std::size_t i = 0; i < size_; ++i) {
      std::uint32_t& chosen = counts_[met(i)];
      const std::uint32_t mine = sat_of_row_[i];
      if (chosen == nothing || (chosen != mine && counts_before(sat_[mine], sat_[chosen]))) chosen = mine;
    }
  }

  std::size_t met(std::size_t i) const {
    return column_[sat_of_row_[i]] * out_.cases.size() + case_[table_.scored_case(row_at(i))];
  }

  void fill() {
    const std::size_t plane = out_.raters.size() * out_.cases.size();
    out_.cells.assign(out_.items.size() * plane, Cell{});
    std::vector<std::size_t> standing;
    for (std::size_t i = 0; i < size_; ++i) {
      if (counts_[met(i)] == sat_of_row_[i])
        put(i, plane);
      else if (sat_[sat_of_row_[i]].standing_key && !sat_[counts_[met(i)]].standing_key)
        standing.push_back(i);
      else if (table_.category(row_at(i)) != nothing)
        ++out_.superseded;
    }
    // The round's own key of one item leaves the standing keys of the others in force.
    const auto own = [&](std::size_t i) {
      return out_.cells[item_[item_place(row_at(i))] * plane + met(i)].present;
    };
    std::vector<bool> taken;
    for (const std::size_t i : standing) taken.push_back(own(i));
    for (std::size_t s = 0; s < standing.size(); ++s) {
      if (!taken[s])
        put(standing[s], plane);
      else if (table_.category(row_at(standing[s])) != nothing)
        ++out_.superseded;
    }
  }

  void put(std::size_t i, std::size_t plane) {
    const std::size_t row = row_at(i);
    const bool scored = table_.category(row) != nothing;
    Cell& cell = out_.cells[item_[item_place(row)] * plane + met(i)];
    cell.present = true;
    const Status status = table_.status(row);
    if (scored)
      cell = {categories_.of_table[table_.category(row)], status, true};
    else if (!cell.scored() && status != Status::observed)
      cell.status = status;
  }

  void count() {
    for (const Cell& cell : out_.cells) {
      ++(cell.scored() ? out_.scored : out_.missing);
      if (cell.scored() || cell.status != Status::observed)
        ++out_.by_status[static_cast<std::size_t>(cell.status)];
    }
  }

  const ScoreTable& table_;
  const ResolveOptions& options_;
  const Categories& categories_;
  std::uint32_t round_, key_;
  Resolved out_;
  std::size_t size_ = 0;             // rows of the round
  bool every_row_ = false;           // ... are all there are; rows_ is then empty
  std::vector<std::uint32_t> rows_;  // of the table
  std::vector<Sat> sat_;
  Codes sat_of_row_;                        // row of the round -> place in sat_
  std::vector<bool> timed_;                 // rater -> every sitting has a time
  std::vector<std::uint32_t> column_;       // place in sat_ -> column
  std::vector<std::uint32_t> case_, item_;  // of the table -> of the round
  std::vector<std::uint32_t> counts_;       // column x case -> place in sat_
};

}  // namespace

std::string Column::label() const {
  return sitting.empty() ? rater.text() : fmt::format("{}@{}", rater.text(), sitting.text());
}

Result<std::vector<Resolved>> resolve(const ScoreTable& table, const ResolveOptions& options) {
  if (table.empty()) return fail(Errc::invalid, "{}there are no scores", place_words(table));
  const auto key = find_key(table, options.key);
  if (!key) return tl::unexpected(key.error());
  const auto rounds = find_rounds(table, options, *key);
  if (!rounds) return tl::unexpected(rounds.error());
  const auto categories = find_categories(table, options, *rounds, *key);
  if (!categories) return tl::unexpected(categories.error());
  std::vector<Resolved> resolved;
  for (const std::uint32_t round : *rounds) {
    auto one = RoundResolver(table, options, *categories, round, *key).run();
    if (!one) return tl::unexpected(std::move(one.error()));
    resolved.push_back(std::move(*one));
  }
  return resolved;
}

}  // namespace evenhand::scores
