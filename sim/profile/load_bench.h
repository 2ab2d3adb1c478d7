// SPDX-License-Identifier: Apache-2.0
//
// The sections of a bench file, one function each, in the order they are read: later ones look
// names up in earlier ones. Internal to profile/.
#ifndef DRYCRANK_PROFILE_LOAD_BENCH_H_
#define DRYCRANK_PROFILE_LOAD_BENCH_H_

#include <map>
#include <string>

#include "profile/bench.h"
#include "yaml/problems.h"
#include "yaml/reader.h"
#include "yaml/tree.h"

namespace drycrank::profile {

using yaml::CheckName, yaml::EachItem, yaml::EachNamed, yaml::Entry, yaml::IsName;
using yaml::KindName, yaml::NamesOf, yaml::Node, yaml::NodeKind, yaml::ParseNumber;
using yaml::Problems, yaml::Range, yaml::Reader, yaml::ReadInt, yaml::ReadNumber;
using yaml::ReadPoints, yaml::ReadRef, yaml::Ref, yaml::Resolve;

struct HallPickup;  // triggers.h

struct BenchContext {
  Problems& problems;
  Bench& bench;
  std::map<std::string, std::string> users = {};  // terminal -> title of the device that has it
  bool wires_as_drawn = false;                    // LoadBenchAsDrawn
  std::string shares_with = {};  // title of the device in one housing with the one that is read
};

// The whole of a bench file. `root` is a mapping; the bench is complete only when nothing was added
// to `problems`.
void LoadBenchTree(Problems& problems, const Node& root, Bench& bench, bool wires_as_drawn = false);

void LoadEngine(BenchContext& c, const Node* node);
void LoadStimuli(BenchContext& c, const Node* node);
void LoadConnectors(BenchContext& c, const Node* node);
void LoadSplices(BenchContext& c, const Node* node);
void LoadWires(BenchContext& c, const Node* node);
void LoadFuses(BenchContext& c, const Node* node);
void LoadRelays(BenchContext& c, const Node* node);
void LoadDiodes(BenchContext& c, const Node* node);
void LoadSupplies(BenchContext& c, const Node* node);
void LoadLoads(BenchContext& c, const Node* node);
void LoadTriggers(BenchContext& c, const Node* node);
void LoadSensors(BenchContext& c, const Node* node);
void LoadBuses(BenchContext& c, const Node* node);
void LoadController(BenchContext& c, const Node& node);
void LoadOutputs(BenchContext& c, const Node* node, Controller& k);
void LoadDiagnostics(BenchContext& c, const Node* node, Controller& k);
void LoadJ1939(BenchContext& c, const Node* node, Controller& k);
void LoadProtections(BenchContext& c, const Node* node);
void LoadPowerNodes(BenchContext& c, const Node* node);
void LoadDrives(BenchContext& c, const Node* node);
void LoadReadouts(BenchContext& c, const Node* node);
void ReadAcknowledged(BenchContext& c, Reader& r, std::string& into);
Switching LoadSwitching(BenchContext& c, const Node& node);
// Of a readout or a gauge that shows that unit; nothing: it has none, or a wrong one, which is said.
std::optional<Bar> LoadBar(BenchContext& c, Reader& owner, const std::string& unit);
void LoadDisplay(BenchContext& c, const Node& node);
void LoadFaultPriors(BenchContext& c, const Node* node);
// `code`, and `spn` with `fmi`: one trouble code.
std::uint32_t ReadTroubleCode(Reader& r);
std::uint32_t ReadSpnFmi(Reader& r);
// What messages carry, once controller and display are known.
void CheckCarried(BenchContext& c);

// ---- shared by sections ------------------------------------------------------------------------

// `strokes`, `firing_order` and `firing_angles_deg` of engine and decoder.
void ReadFiring(Reader& r, int* strokes, std::vector<int>* order, std::vector<double>* angles_deg);
// A rotor needs a rotary engine.
void CheckRotorShaft(Reader& r, Shaft shaft, const Engine& engine);
// An offset of a wheel into [0, 720), on a rotor into [0, 1080).
void BringOffsetIn(Reader& r, Shaft shaft, double* offset_deg);
std::vector<double> EvenFiring(std::size_t cylinders, double cycle_deg);
// Cylinders 1 to N, each once, from the key `firing_order`.
void ReadOrder(Reader& r, std::vector<int>* order);

void LoadWheel(Problems& problems, const Node& node, const std::string& title, Wheel* wheel);

// Keys of a Hall output: low_at_tooth is read only for trigger wheels.
void ReadHall(BenchContext& c, Reader& r, bool with_tooth, HallPickup* hall);

// One message under its name; used for buses and for the display's own layouts.
Message LoadMessage(Problems& problems, const std::string& name, const Place& place,
                    const Node& node);

// Whether a frame can have so many bytes.
bool IsLegalLength(int length_bytes, bool fd);

// The signals of a message: ranges, overlaps, multiplexing.
void LoadSignals(Problems& problems, const Node* node, Message& message);
// `values`: whole numbers from min to max with their names, each once.
void ReadValueNames(Reader& r, std::int64_t min, std::int64_t max,
                    std::map<std::int64_t, std::string>* names);
// A number in the signal's unit, or the name of one of its values.
std::optional<double> ReadSignalValue(Problems& problems, const Node& node, const std::string& what,
                                      const Signal& signal);

// A terminal "CLT.1" at `key`, which is required. The first finds it, the second also notes that
// the device `r` has it: no other may.
std::string FindTerminal(BenchContext& c, Reader& r, std::string_view key);
std::string TakeTerminal(BenchContext& c, Reader& r, std::string_view key);
void TakeTerminal(BenchContext& c, const Ref& ref, const std::string& title);
// Is it a terminal of the bench? If not, says what would be.
bool CheckTerminal(Problems& problems, const Bench& bench, const Ref& ref);
// A wire's end: a terminal or a splice.
bool CheckWireEnd(BenchContext& c, const Ref& ref);
// REQUIRES: the terminal's connector is there.
bool IsInLine(const Bench& bench, const std::string& terminal);

std::vector<std::string> CircuitNames(const Bench& bench);
// "message.signal" to where it is; a problem when it is nowhere.
SignalRef ResolveSignal(Problems& problems, const Bench& bench, const Ref& ref);
MessageRef ResolveMessage(Problems& problems, const Bench& bench, const Ref& ref);

// A problem when values of one unit cannot become values of the other. Empty units fit everything.
void CheckUnits(Problems& problems, const Place& place, const std::string& what,
                const std::string& from, const std::string& to);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_BENCH_H_
