#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <kainjow/mustache.hpp>

#include "report/competency.hpp"

namespace evenhand::report {

// What the pages of reports have in common, for the files that fill templates.

using PageData = kainjow::mustache::data;

inline PageData page_list() { return PageData{PageData::type::list}; }

/// A list of texts.
PageData texts(const std::vector<std::string>& all);

/// Rows of `what` and `value`; without a value none.
PageData facts(const std::vector<std::pair<std::string, std::string>>& rows);

/// Whose rulings were in force.
std::string rulings_words(const Provenance& from);

/// The template of that name, filled, with the style of all reports and the standing cautions.
/// `{{>part_again}}` stands for parts/again.html, and so on.
std::string rendered_page(std::string_view name, PageData& page);

}  // namespace evenhand::report
