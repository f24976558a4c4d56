#pragma once

#include <compare>
#include <functional>
#include <string>
#include <utility>

namespace evenhand::base {

/// A name of one kind of thing. Distinct kinds do not mix: a RaterId is no CaseId.
template <class Tag>
class Id {
 public:
  Id() = default;
  explicit Id(std::string text) : text_(std::move(text)) {}

  const std::string& text() const { return text_; }
  bool empty() const { return text_.empty(); }
  friend auto operator<=>(const Id&, const Id&) = default;

 private:
  std::string text_;
};

using RaterId = Id<struct RaterTag>;
using CaseId = Id<struct CaseTag>;
using ItemId = Id<struct ItemTag>;
using InstrumentId = Id<struct InstrumentTag>;
using SetId = Id<struct SetTag>;
using SittingId = Id<struct SittingTag>;
using RoundId = Id<struct RoundTag>;
using GroupId = Id<struct GroupTag>;

}  // namespace evenhand::base

template <class Tag>
struct std::hash<evenhand::base::Id<Tag>> {
  std::size_t operator()(const evenhand::base::Id<Tag>& id) const noexcept {
    return std::hash<std::string>{}(id.text());
  }
};

namespace evenhand {
using base::CaseId;
using base::GroupId;
using base::InstrumentId;
using base::ItemId;
using base::RaterId;
using base::RoundId;
using base::SetId;
using base::SittingId;
}  // namespace evenhand
