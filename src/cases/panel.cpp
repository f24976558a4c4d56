#include "cases/panel.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

#include <fmt/format.h>

namespace evenhand::cases {
namespace {

void count(PanelItem& item, std::span<const PanelReading> readings, std::size_t place) {
  for (const auto& reading : readings)
    if (reading[place].empty())
      ++item.blank;
    else
      ++item.given[reading[place]];
  if (item.blank == 0 && item.given.size() == 1) item.key = item.given.begin()->first;
}

/// Each member against what all others gave alike.
void leave_one_out(PanelKey& panel, std::span<const PanelReading> readings, std::size_t place,
                   const instrument::Item& item) {
  for (std::size_t member = 0; member < readings.size(); ++member) {
    const std::string& first = readings[member == 0 ? 1 : 0][place];
    bool alike = instrument::level_named(item, first).has_value();
    for (std::size_t other = 0; other < readings.size(); ++other)
      alike = alike && (other == member || readings[other][place] == first);
    if (!alike) continue;
    ++panel.compared;
    panel.agreed += readings[member][place] == first;
  }
}

}  // namespace

std::size_t PanelKey::keyed() const {
  return static_cast<std::size_t>(
      std::ranges::count_if(items, [](const PanelItem& item) { return !item.key.empty(); }));
}

std::size_t PanelKey::split() const {
  return static_cast<std::size_t>(std::ranges::count_if(items, [](const PanelItem& item) {
    return item.key.empty() && (item.blank > 0 || !item.given.empty());
  }));
}

Result<PanelKey> panel_key(const Case& the_case, const instrument::Instrument& instrument,
                           std::span<const PanelReading> readings) {
  if (!the_case.external)
    return fail(Errc::invalid, "`{}` is no case outside: its key follows from what it shows",
                the_case.id.text());
  if (readings.size() < 2)
    return fail(Errc::invalid, "a panel has at least two members; {} scored `{}`", readings.size(),
                the_case.id.text());
  PanelKey panel{.members = readings.size(), .items = std::vector<PanelItem>(the_case.items.size())};
  for (std::size_t i = 0; i < the_case.items.size(); ++i) {
    if (!the_case.items[i].covered) continue;
    count(panel.items[i], readings, i);
    leave_one_out(panel, readings, i, instrument.items[i]);
  }
  return panel;
}

std::string without_panel(std::string_view text) {
  std::string out;
  bool inside = false;
  for (std::size_t begin = 0; begin < text.size();) {
    const auto end = std::min(text.find('\n', begin), text.size() - 1) + 1;
    const auto line = text.substr(begin, end - begin);
    begin = end;
    const bool of_top =
        !line.empty() && std::string_view(" \t\r\n#}]").find(line.front()) == std::string_view::npos;
    if (of_top) inside = line.starts_with("panel:");
    if (!inside) out += line;
  }
  return out;
}

std::string with_panel(std::string_view text, const Case& the_case, const PanelKey& panel) {
  std::string out = without_panel(text);
  if (!out.empty() && out.back() != '\n') out += '\n';
  const auto to = std::back_inserter(out);
  fmt::format_to(to, "panel:\n  members: {}\n  agreement: {{agreed: {}, of: {}}}\n  key:", panel.members,
                 panel.agreed, panel.compared);
  if (panel.keyed() == 0) out += " {}";
  out += '\n';
  for (std::size_t i = 0; i < panel.items.size(); ++i)
    if (!panel.items[i].key.empty())
      fmt::format_to(to, "    \"{}\": \"{}\"\n", the_case.items[i].id.text(), panel.items[i].key);
  return out;
}

Case without_panel(Case the_case) {
  if (!the_case.external) return the_case;
  the_case.external->panel.reset();
  the_case.reviewed_by = 0;
  for (auto& item : the_case.items) {
    const auto where = item.key.where;
    item.key = {.kind = StatedKey::Kind::none, .where = where};
  }
  return the_case;
}

}  // namespace evenhand::cases
