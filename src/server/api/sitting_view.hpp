#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cases/case_set.hpp"
#include "instrument/classify.hpp"
#include "practice/feedback.hpp"
#include "practice/sitting.hpp"
#include "practice/telling.hpp"
#include "server/api/given.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/sitting.hpp"

namespace evenhand::server {

/// A sitting with what it consists of.
struct SittingView {
  store::Sitting sitting;
  cases::CaseSet set;
  std::shared_ptr<const instrument::Scoring> scoring;  ///< in force now
  std::vector<practice::Step> steps;
  std::vector<std::optional<store::Answer>> answers;  ///< in force; parallel to the steps
  /// Its round was closed then, and opened again: what was answered by then had its reason shown.
  std::optional<base::Time> shown_until{};

  std::optional<std::size_t> step_of(std::string_view case_id, std::string_view item) const;
  std::optional<std::size_t> next() const;
  /// No further revision of the step is taken: its reason may have been seen, or all is handed in.
  bool locked(std::size_t step) const;
};

/// The sitting named `id` in the pattern, if it belongs to the one who asks; that of another person is as
/// unknown as one that never was.
Reply<SittingView> own_sitting(const Request& request, Visit& visit);
Reply<SittingView> view_of(store::Sitting sitting, Visit& visit);

/// The step named `case` and `item` in the pattern. Refused with 404 when it is not in the set.
Reply<std::size_t> step_in(const Request& request, const SittingView& view);

/// Whether the sitting belongs to a round that was closed: nobody answers in it any more.
bool round_is_closed(const store::Sitting& sitting, Visit& visit);

/// Whether reasons may be shown; see practice::reasons_open.
bool reasons_open(const store::Sitting& sitting, Visit& visit);

/// The answers of one sitting beside their keys, each case's key worked out once.
class Keyed {
 public:
  Keyed(const SittingView& view, const cases::Library& library)
      : view_(view), steps_(library, *view.scoring, view.steps) {}

  practice::KeyedItem at(std::size_t step) { return steps_.at(step); }
  practice::Since since(std::size_t step) const;
  practice::Feedback feedback(std::size_t step);
  practice::Scored scored(std::size_t step);

 private:
  const SittingView& view_;
  practice::KeyedSteps steps_;
};

}  // namespace evenhand::server
