#include "instrument/classify.hpp"

#include <algorithm>
#include <bit>
#include <utility>

#include <fmt/format.h>

#include "instrument/fingerprint.hpp"

namespace evenhand::instrument {

std::optional<Ruling> applied_to(const Ruling& general, const Item& item) {
  Ruling ruling = general;
  std::erase_if(ruling.when, [&](const Clause& clause) {
    return std::ranges::any_of(clause.constraints,
                               [&](const Constraint& c) { return !axis_of(item, c.observation); });
  });
  std::erase_if(ruling.as_if, [&](const Replacement& r) { return !axis_of(item, r.observation); });
  if (ruling.when.empty()) return std::nullopt;
  return ruling;
}

namespace {

std::vector<Ruling> rulings_in_force(const Instrument& instrument, const Item& item,
                                     std::vector<Ruling> department) {
  std::vector<Ruling> rulings = std::move(department);
  rulings.insert(rulings.end(), item.rulings.begin(), item.rulings.end());
  for (const auto& general : instrument.general)
    if (auto ruling = applied_to(general, item)) rulings.push_back(std::move(*ruling));
  const auto fallback = [&](std::string id, std::string situation) {
    Ruling ruling;
    ruling.id = std::move(id);
    ruling.tier = Tier::fallback;
    ruling.situation = std::move(situation);
    ruling.at = instrument.at;
    rulings.push_back(std::move(ruling));
  };
  if (instrument.fallback.open == OpenRule::floor) fallback("floor", "no level describes it");
  if (instrument.fallback.several == SeveralRule::lowest) fallback("lowest", "several levels describe it");
  return rulings;
}

constexpr std::size_t longest_chain = 64;

/// Works out one item. Kept together because an answer may need other answers.
class Classifier {
 public:
  Classifier(const Item& item, Classification& out) : item_(item), out_(out), state_(out.cells.size()) {}

  void run() {
    claim();
    find_floors();
    cover();
    verify_settled();
    for (std::size_t cell = 0; cell < out_.cells.size(); ++cell) resolve(cell);
  }

 private:
  enum class State : std::uint8_t { fresh, working, done };
  struct Answer {
    int level = -1;
    std::uint32_t looked_up = Cell::nowhere;
  };

  void claim() {
    for (std::size_t level = 0; level < item_.levels.size(); ++level)
      for (const auto& clause : item_.levels[level].when)
        out_.partition.for_each_cell(out_.partition.box(clause), [&](std::size_t cell) {
          out_.cells[cell].claims |= std::uint32_t{1} << level;
        });
    for (auto& cell : out_.cells) {
      const int claims = std::popcount(cell.claims);
      cell.kind = claims == 0 ? CellKind::open : claims == 1 ? CellKind::settled : CellKind::several;
      if (claims == 1) cell.level = static_cast<std::int8_t>(std::countr_zero(cell.claims));
    }
    for (const auto& clause : item_.impossible)
      out_.partition.for_each_cell(out_.partition.box(clause), [&](std::size_t cell) {
        out_.cells[cell].kind = CellKind::impossible;
        out_.cells[cell].level = -1;
      });
  }

  int merit_of(int level) const { return static_cast<int>(merit(item_, static_cast<std::size_t>(level))); }
  int level_at(int merit) const {
    return static_cast<int>(level_of_merit(item_, static_cast<std::size_t>(merit)));
  }

  // "Equal or worse on every axis" is a product order, so the best over all worse cells is a running best
  // along one axis after the other.
  void find_floors() {
    const std::size_t n = out_.cells.size();
    floor_.assign(n, Cell::nowhere);
    const auto merit_at = [&](std::uint32_t cell) {
      return cell == Cell::nowhere ? -1 : merit_of(out_.cells[cell].level);
    };
    for (std::size_t cell = 0; cell < n; ++cell)
      if (out_.cells[cell].kind == CellKind::settled) floor_[cell] = static_cast<std::uint32_t>(cell);
    const auto& axes = out_.partition.axes();
    for (std::size_t axis = 0; axis < axes.size(); ++axis) {
      if (axes[axis].sense == Sense::none) continue;
      const bool rising = axes[axis].sense == Sense::rising;
      const std::size_t stride = out_.partition.stride(axis);
      for (std::size_t step = 0; step < n; ++step) {
        const std::size_t cell = rising ? step : n - 1 - step;
        const std::size_t c = out_.partition.class_in(cell, axis);
        if (c == (rising ? 0 : axes[axis].size - 1)) continue;
        const std::size_t worse = rising ? cell - stride : cell + stride;
        if (merit_at(floor_[worse]) > merit_at(floor_[cell])) floor_[cell] = floor_[worse];
      }
    }
  }

  void cover() {
    covers_.assign(out_.rulings.size(), std::vector<bool>(out_.cells.size()));
    for (std::size_t r = 0; r < out_.rulings.size(); ++r) {
      for (const auto& clause : out_.rulings[r].when)
        out_.partition.for_each_cell(out_.partition.box(clause),
                                     [&](std::size_t cell) { covers_[r][cell] = true; });
      for (std::size_t cell = 0; cell < out_.cells.size(); ++cell) {
        if (!covers_[r][cell]) continue;
        out_.uses[r].region += out_.cells[cell].kind != CellKind::impossible;
        out_.uses[r].gray += out_.cells[cell].gray();
      }
    }
  }

  void verify_settled() {
    for (std::size_t r = 0; r < out_.rulings.size(); ++r) {
      const Ruling& ruling = out_.rulings[r];
      if (!ruling.settled || !ruling.level) continue;
      const auto level = level_named(item_, *ruling.level);
      for (std::size_t cell = 0; cell < out_.cells.size(); ++cell) {
        const Cell& found = out_.cells[cell];
        if (!covers_[r][cell] || found.kind == CellKind::impossible) continue;
        if (found.kind == CellKind::settled && level && found.level == static_cast<int>(*level)) continue;
        ++out_.uses[r].contradicted;
        if (!out_.uses[r].contradiction) out_.uses[r].contradiction = cell;
      }
    }
  }

  void resolve(std::size_t cell) {
    if (state_[cell] != State::fresh) return;
    if (!out_.cells[cell].gray()) {
      state_[cell] = State::done;
      return;
    }
    state_[cell] = State::working;
    for (const Tier tier : {Tier::department, Tier::item, Tier::general, Tier::fallback})
      if (ask(tier, cell)) break;
    state_[cell] = State::done;
  }

  /// Whether the tier has spoken, be it with two tongues.
  bool ask(Tier tier, std::size_t cell) {
    int first = -1;
    Answer answer;
    for (std::size_t r = 0; r < out_.rulings.size(); ++r) {
      if (out_.rulings[r].tier != tier || out_.rulings[r].settled) continue;
      const Answer other = tier == Tier::fallback ? fall_back(r, cell) : consult(r, cell);
      if (other.level < 0) continue;
      if (first >= 0 && other.level != answer.level) {
        note_conflict(static_cast<std::size_t>(first), r, cell);
        return true;
      }
      if (first < 0) {
        first = static_cast<int>(r);
        answer = other;
      }
    }
    if (first < 0) return false;
    out_.cells[cell].level = static_cast<std::int8_t>(answer.level);
    out_.cells[cell].ruling = static_cast<std::int16_t>(first);
    out_.cells[cell].looked_up = answer.looked_up;
    ++out_.uses[static_cast<std::size_t>(first)].decided;
    return true;
  }

  Answer consult(std::size_t r, std::size_t cell) {
    if (!covers_[r][cell]) return {};
    const Ruling& ruling = out_.rulings[r];
    Answer answer;
    if (ruling.level) {
      if (const auto level = level_named(item_, *ruling.level)) answer.level = static_cast<int>(*level);
    } else {
      answer = look_up(r, cell);
    }
    if (answer.level < 0) {
      ++out_.uses[r].unanswered;
      if (!out_.uses[r].without_answer) out_.uses[r].without_answer = cell;
    }
    return answer;
  }

  Answer look_up(std::size_t r, std::size_t cell) {
    const Ruling& ruling = out_.rulings[r];
    std::size_t target = cell;
    for (const auto& replacement : ruling.as_if) {
      if (const auto axis = axis_of(item_, replacement.observation))
        target = out_.partition.moved(target, *axis, out_.partition.class_of(*axis, replacement.value));
    }
    chain_.push_back({r, cell});
    if (state_[target] == State::working || chain_.size() > longest_chain)
      note_loop(target);
    else
      resolve(target);
    chain_.pop_back();
    if (state_[target] != State::done || out_.cells[target].level < 0) return {};
    const int found = merit_of(out_.cells[target].level);
    int floor = 0;
    if (ruling.not_below)
      if (const auto bound = level_named(item_, *ruling.not_below))
        floor = merit_of(static_cast<int>(*bound));
    const int lowered = std::max(found - static_cast<int>(ruling.less), floor);
    return {.level = level_at(std::min(found, lowered)), .looked_up = static_cast<std::uint32_t>(target)};
  }

  Answer fall_back(std::size_t r, std::size_t cell) {
    const Cell& found = out_.cells[cell];
    const bool floor = out_.rulings[r].id == "floor";
    if (floor && found.kind == CellKind::open) {
      const std::uint32_t base = floor_[cell];
      if (base == Cell::nowhere) return {};
      return {.level = out_.cells[base].level, .looked_up = base};
    }
    if (!floor && found.kind == CellKind::several) {
      const int highest = std::countr_zero(found.claims), lowest = 31 - std::countl_zero(found.claims);
      return {.level = item_.high_is_better ? lowest : highest, .looked_up = Cell::nowhere};
    }
    return {};
  }

  void note_conflict(std::size_t first, std::size_t second, std::size_t cell) {
    const auto known = std::ranges::find_if(out_.conflicts, [&](const Conflict& conflict) {
      return conflict.first == first && conflict.second == second;
    });
    if (known != out_.conflicts.end())
      ++known->cells;
    else
      out_.conflicts.push_back({.first = first, .second = second, .example = cell, .cells = 1});
  }

  void note_loop(std::size_t target) {
    std::vector<std::size_t> rulings;
    const auto begin = std::ranges::find_if(chain_, [&](const auto& link) { return link.second == target; });
    for (auto link = begin == chain_.end() ? chain_.begin() : begin; link != chain_.end(); ++link)
      rulings.push_back(link->first);
    std::ranges::sort(rulings);
    rulings.erase(std::unique(rulings.begin(), rulings.end()), rulings.end());
    if (std::ranges::find(out_.loops, rulings) == out_.loops.end()) out_.loops.push_back(rulings);
  }

  const Item& item_;
  Classification& out_;
  std::vector<State> state_;
  std::vector<std::uint32_t> floor_;                        // the settled cell whose level is the floor
  std::vector<std::vector<bool>> covers_;                   // by ruling, then cell
  std::vector<std::pair<std::size_t, std::size_t>> chain_;  // rulings and cells on the way
};

}  // namespace

Result<Classification> classify(const Instrument& instrument, const Item& item,
                                std::vector<Ruling> department_rulings) {
  auto rulings = rulings_in_force(instrument, item, std::move(department_rulings));
  std::vector<const Region*> regions{&item.impossible};
  for (const auto& level : item.levels) regions.push_back(&level.when);
  for (const auto& ruling : rulings) regions.push_back(&ruling.when);
  if (item.trials.spoilt) regions.push_back(&item.trials.spoilt->when);
  auto partition = Partition::make(instrument, item, regions);
  if (!partition) return tl::unexpected(partition.error());

  Classification out{.partition = std::move(*partition),
                     .rulings = std::move(rulings),
                     .uses = {},
                     .cells = {},
                     .conflicts = {},
                     .loops = {}};
  out.uses.resize(out.rulings.size());
  out.cells.resize(out.partition.cells());
  Classifier(item, out).run();
  return out;
}

Result<Scoring> make_scoring(Instrument instrument, std::vector<RulingFile> departments) {
  Scoring scoring{.instrument = std::move(instrument),
                  .departments = std::move(departments),
                  .items = {},
                  .fingerprint = {}};
  for (const auto& item : scoring.instrument.items) {
    std::vector<Ruling> own;
    for (const auto& file : scoring.departments)
      for (const auto& ruling : file.rulings)
        if (ruling.item == item.id) own.push_back(ruling);
    auto classification = classify(scoring.instrument, item, std::move(own));
    if (!classification) return tl::unexpected(classification.error());
    scoring.items.push_back(std::move(*classification));
  }
  scoring.fingerprint = fingerprint(scoring.instrument, scoring.departments);
  return scoring;
}

}  // namespace evenhand::instrument
