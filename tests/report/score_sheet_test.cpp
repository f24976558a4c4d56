#include "report/score_sheet.hpp"

#include <catch2/catch.hpp>

#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::report;

namespace {

std::string without(std::string text, const std::string& part) {
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part)) text.erase(at, part.size());
  return text;
}

}  // namespace

TEST_CASE("a score sheet is the same whatever the keys are, but for its code") {
  auto library = test::shipped_library();
  const auto set = library.sets.at("pb-demonstration");
  const std::string code = set_code(library, set);
  const std::string sheet = score_sheet_html(library, set, {"evenhand 1.2.3", "2026-11-25"});
  CHECK(sheet.find(code) != std::string::npos);
  std::size_t boxes = 0;
  for (auto at = sheet.find("<td class=\"box\">"); at != std::string::npos;
       at = sheet.find("<td class=\"box\">", at + 1))
    ++boxes;
  CHECK(boxes == 16 * 7);

  for (auto& [id, one] : library.cases)
    for (auto& item : one.items) {
      item.key = {.kind = cases::StatedKey::Kind::level, .level = 0};
      item.trials.clear();
    }
  CHECK(set_code(library, set) != code);
  CHECK((without(score_sheet_html(library, set, {"evenhand 1.2.3", "2026-11-25"}), set_code(library, set)) ==
         without(sheet, code)));
}

TEST_CASE("the code of a set changes with its items") {
  const auto library = test::shipped_library();
  auto set = library.sets.at("pb-demonstration");
  const std::string code = set_code(library, set);
  CHECK(code.size() == 9);
  set.entries.front().items.pop_back();
  CHECK(set_code(library, set) != code);
}
