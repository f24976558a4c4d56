#include "server/api/set_draft.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "server/body.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_title = 120, most_entries = 400, most_items = 60;

bool flag_in(const nlohmann::json& body, const char* name) {
  const auto given = body.find(name);
  return given != body.end() && given->is_boolean() && given->get<bool>();
}

Reply<cases::SetEntry> entry_in(const nlohmann::json& given) {
  const auto none = [] { return refuse_field("entries", "An entry is a case with its items."); };
  if (!given.is_object()) return none();
  const auto id = text_in(given, "case");
  const auto items = given.find("items");
  if (!id || items == given.end() || !items->is_array() || items->size() > most_items) return none();
  cases::SetEntry entry{CaseId(*id), {}};
  for (const auto& item : *items) {
    if (!item.is_string() || item.get_ref<const std::string&>().size() > 64) return none();
    entry.items.emplace_back(item.get<std::string>());
  }
  return entry;
}

/// Lines before the first entry, in order.
std::vector<std::string_view> head_of(const SetDraft& draft) {
  std::vector<std::string_view> fields{"", "id", "title", "mode"};
  if (draft.demonstration) fields.push_back("demonstration");
  if (draft.retired) fields.push_back("retired");
  fields.push_back("entries");
  return fields;
}

}  // namespace

Reply<SetDraft> set_draft_in(const nlohmann::json& body) {
  SetDraft draft;
  for (const auto& [name, into] : {std::pair{"id", &draft.id},
                                   {"title", &draft.title},
                                   {"mode", &draft.mode},
                                   {"instrument", &draft.instrument}}) {
    auto text = text_in(body, name, longest_title);
    if (!text) return refuse_field(name, text.error().message);
    *into = std::move(*text);
  }
  draft.demonstration = flag_in(body, "demonstration");
  draft.retired = flag_in(body, "retired");
  const auto entries = body.find("entries");
  if (entries == body.end() || !entries->is_array() || entries->size() > most_entries)
    return refuse_field("entries", fmt::format("`entries` is a list of at most {} cases.", most_entries));
  for (const auto& one : *entries) {
    auto entry = entry_in(one);
    if (!entry) return tl::unexpected(entry.error());
    draft.entries.push_back(std::move(*entry));
  }
  return draft;
}

SetDraft draft_of(const cases::CaseSet& set) {
  return {.id = set.id.text(),
          .title = set.title,
          .mode = std::string(cases::to_string(set.mode)),
          .demonstration = set.demonstration,
          .retired = set.retired,
          .instrument = set.instrument.text(),
          .entries = set.entries};
}

Json draft_json(const SetDraft& draft) {
  Json entries = Json::array();
  for (const auto& entry : draft.entries) {
    Json items = Json::array();
    for (const auto& item : entry.items) items.push_back(item.text());
    entries.push_back({{"case", entry.case_id.text()}, {"items", std::move(items)}});
  }
  return {{"id", draft.id},
          {"title", draft.title},
          {"mode", draft.mode},
          {"demonstration", draft.demonstration},
          {"retired", draft.retired},
          {"instrument", draft.instrument},
          {"entries", std::move(entries)}};
}

std::string yaml_of(const SetDraft& draft) {
  // A JSON text is a YAML one: quoted, it stands whatever is in it.
  const auto quoted = [](const std::string& text) {
    return Json(text).dump(-1, ' ', false, Json::error_handler_t::replace);
  };
  std::string text = fmt::format("format: evenhand/set-1\nid: {}\ntitle: {}\nmode: {}\n", quoted(draft.id),
                                 quoted(draft.title), quoted(draft.mode));
  if (draft.demonstration) text += "demonstration: yes\n";
  if (draft.retired) text += "retired: yes\n";
  text += draft.entries.empty() ? "entries: []\n" : "entries:\n";
  for (const auto& entry : draft.entries) {
    std::vector<std::string> items;
    for (const auto& item : entry.items) items.push_back(quoted(item.text()));
    text +=
        fmt::format("  - {{case: {}, items: [{}]}}\n", quoted(entry.case_id.text()), fmt::join(items, ", "));
  }
  return text;
}

std::string field_at_line(const SetDraft& draft, std::size_t line) {
  const auto head = head_of(draft);
  if (line == 0) return "";
  if (line <= head.size()) return std::string(head[line - 1]);
  const auto entry = line - head.size() - 1;
  return entry < draft.entries.size() ? fmt::format("entry-{}", entry) : "entries";
}

bool asks_the_same(const SetDraft& one, const SetDraft& other) {
  const auto same_entry = [](const cases::SetEntry& a, const cases::SetEntry& b) {
    // The order of items is the instrument's, whatever a file says.
    const std::set<ItemId> items(a.items.begin(), a.items.end());
    return a.case_id == b.case_id && items == std::set<ItemId>(b.items.begin(), b.items.end());
  };
  return one.mode == other.mode && one.demonstration == other.demonstration &&
         std::ranges::equal(one.entries, other.entries, same_entry);
}

}  // namespace evenhand::server
