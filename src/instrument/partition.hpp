#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// Which way an axis of classes improves.
enum class Sense { rising, falling, none };

/// One observation of an item, split where any condition tells values apart.
struct Axis {
  std::size_t observation = 0;
  std::vector<Cut> cuts;  ///< numbers: class i lies between cuts i - 1 and i
  std::vector<std::size_t>
      class_of;          ///< facts: class of each value; of ordered facts neighbors only share one
  std::size_t size = 1;  ///< classes
  Sense sense = Sense::none;
};

/// A set of classes on each axis, as bits: all cells whose classes are among them.
struct Box {
  std::vector<std::uint64_t> classes;

  friend bool operator==(const Box&, const Box&) = default;
};

/// The space of what an item observes, cut into cells inside which no condition tells two observations
/// apart. Every observation in the domain falls into exactly one cell. Cells are numbered by mixed radix,
/// the last axis fastest.
class Partition {
 public:
  static constexpr std::size_t most_classes = 64;
  static constexpr std::size_t most_cells = 400'000;

  /// `regions` are all conditions of the item: levels, rulings, impossible combinations.
  /// Errors: invalid when an axis or the whole has too many parts.
  static Result<Partition> make(const Instrument& instrument, const Item& item,
                                std::span<const Region* const> regions);

  const std::vector<Axis>& axes() const { return axes_; }
  std::size_t cells() const { return cells_; }
  /// How far apart two cells are whose classes on this axis are neighbors.
  std::size_t stride(std::size_t axis) const { return strides_[axis]; }

  /// The class of a value on an axis.
  std::size_t class_of(std::size_t axis, double value) const;
  /// The cell of an observation; one value for each axis.
  std::size_t cell_of(std::span<const double> values) const;
  /// The class of a cell on an axis.
  std::size_t class_in(std::size_t cell, std::size_t axis) const {
    return cell / strides_[axis] % axes_[axis].size;
  }
  /// The cell with another class on one axis.
  std::size_t moved(std::size_t cell, std::size_t axis, std::size_t to_class) const {
    return cell + to_class * strides_[axis] - class_in(cell, axis) * strides_[axis];
  }

  /// The classes that satisfy a constraint, as bits.
  std::uint64_t classes(const Constraint& constraint) const;
  /// The box of a clause, whole on the axes that it does not name.
  Box box(const Clause& clause) const;
  /// The whole of an axis.
  std::uint64_t all(std::size_t axis) const;
  /// Any cell in the box.
  bool contains(const Box& box, std::size_t cell) const;

  /// Calls `visit(cell)` for each cell of the box, in rising order.
  template <class Visit>
  void for_each_cell(const Box& box, Visit visit) const {
    walk(box, 0, 0, visit);
  }

 private:
  template <class Visit>
  void walk(const Box& box, std::size_t axis, std::size_t cell, Visit& visit) const {
    if (axis == axes_.size()) {
      visit(cell);
      return;
    }
    for (std::size_t c = 0; c < axes_[axis].size; ++c)
      if (box.classes[axis] >> c & 1U) walk(box, axis + 1, cell + c * strides_[axis], visit);
  }

  std::vector<Axis> axes_;
  std::vector<std::size_t> strides_;
  std::vector<std::size_t> axis_of_;  // by observation; axes_.size() when not observed
  std::vector<bool> number_;          // by axis
  std::size_t cells_ = 1;
};

}  // namespace evenhand::instrument
