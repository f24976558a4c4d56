#include "report/page_parts.hpp"

#include "report/cautions.hpp"
#include "report/templates.hpp"

namespace evenhand::report {

PageData texts(const std::vector<std::string>& all) {
  PageData list = page_list();
  for (const auto& text : all) list << PageData{text};
  return list;
}

PageData facts(const std::vector<std::pair<std::string, std::string>>& rows) {
  PageData list = page_list();
  for (const auto& [what, value] : rows) {
    if (value.empty()) continue;
    PageData row;
    row.set("what", what);
    row.set("value", value);
    list << row;
  }
  return list;
}

std::string rulings_words(const Provenance& from) {
  return from.department_rulings ? "the department's own are in force"
                                 : "the project's defaults; the department has ruled nothing";
}

std::string rendered_page(std::string_view name, PageData& page) {
  kainjow::mustache::mustache sheet{std::string(template_file(name))};
  page.set("style", std::string(template_file("style.css")));
  page.set("cautions", texts(standing_cautions(Paperwork::report)));
  for (const std::string part : {"head", "style", "cautions", "again", "off"})
    page.set("part_" + part, PageData(kainjow::mustache::partial{
                                 [part] { return std::string(template_file("parts/" + part + ".html")); }}));
  return sheet.render(page);
}

}  // namespace evenhand::report
