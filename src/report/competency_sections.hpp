#pragma once

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "competency/group.hpp"
#include "report/page_parts.hpp"

namespace evenhand::report {

// The sections of competency reports that are pictures with their tables.

PageData competency_provenance(const Provenance& from, const competency::Standard& standard);
void set_notices(PageData& page, const std::vector<std::string>& all);

/// How the rater's work went over time, how far scores lie from the key, and what the watch showed.
void set_course(PageData& page, const competency::Summary& summary, const competency::Standard& standard);

/// How far scores lie from their keys.
void set_off(PageData& page, const std::vector<competency::OffCount>& off);

/// Mean error of raters by items, of each item, and how far the scores of all lie from their keys.
/// raters  in the order of the page
void set_group_pictures(PageData& page, std::span<const competency::Summary* const> raters,
                        const competency::GroupSummary& group, const competency::AnswerKey& key);

/// Where a group of pictures is too tall for a page: the places of the rows of each, at most `most`, about
/// equally many.
std::vector<std::pair<std::size_t, std::size_t>> in_parts(std::size_t rows, std::size_t most);

}  // namespace evenhand::report
